package depot

import (
	"fmt"
	"strings"

	"pairwalk/events"
)

// Names in the cluster. Ids of sites, feeds and instances are base32 in lower
// case; the dot of a feed's id makes it two tokens of a subject.
const (
	streamName    = "PAIRWALK"
	streamSubject = "pairwalk.>"
	logPrefix     = "pairwalk.log."
	seatPrefix    = "pairwalk.seat."
)

// Headers of our own. They are for people who look at the stream: what counts is
// in the lines themselves, but for endedHeader, whose message has no lines.
const (
	firstHeader = "Pairwalk-First"
	lastHeader  = "Pairwalk-Last"
	endedHeader = "Pairwalk-Ended"
)

func feedSubject(site events.SiteID, feed events.FeedID) string {
	return logPrefix + string(site) + "." + string(feed)
}

// siteSubjects is every feed of a site.
func siteSubjects(site events.SiteID) string { return logPrefix + string(site) + ".>" }

// feedOf is the feed that a subject of a site is for.
func feedOf(site events.SiteID, subject string) (events.FeedID, error) {
	rest, ok := strings.CutPrefix(subject, logPrefix+string(site)+".")
	if !ok {
		return "", fmt.Errorf("read subject %q: not of this site", subject)
	}
	return events.ParseFeedID(rest)
}

func seatSubject(instance string, site events.SiteID) string {
	return seatPrefix + instance + "." + string(site)
}

// headText writes a head into a header.
func headText(h events.Head) string { return fmt.Sprintf("%d %s", h.Seq, h.Hash) }

func parseHead(text string) (events.Head, error) {
	var h events.Head
	var hash string
	if _, err := fmt.Sscanf(text, "%d %s", &h.Seq, &hash); err != nil {
		return h, fmt.Errorf("read head %q: %w", text, err)
	}
	var err error
	h.Hash, err = events.ParseHash(hash)
	return h, err
}
