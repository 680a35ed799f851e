package events

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// SiteOpened is the first thing said of a site. The root key's hash is the
// site's id, so nobody can open somebody else's.
type SiteOpened struct {
	said
	Name     string
	Root     Key    // the root public key
	Zone     string // IANA time zone, such as Europe/Vienna
	Practice bool   // a made-up job for training and demonstration
}

func (SiteOpened) Kind() Kind          { return "site.opened" }
func (SiteOpened) Subjects() []Subject { return []Subject{Site()} }
func (p SiteOpened) String() string {
	if p.Practice {
		return "opened practice site " + p.Name
	}
	return "opened site " + p.Name
}

func (p *SiteOpened) fields(w *walk) {
	text(w, "name", &p.Name, named)
	text(w, "root", &p.Root, isKey)
	text(w, "zone", &p.Zone, named)
	flag(w, "practice", &p.Practice)
}

// SettingsChanged sets some of the site's settings. [Settings] lists the keys;
// a key from a later version is carried and not applied.
type SettingsChanged struct {
	said
	Set map[SettingKey]string
}

func (SettingsChanged) Kind() Kind          { return "settings.changed" }
func (SettingsChanged) Subjects() []Subject { return []Subject{Site()} }
func (p SettingsChanged) String() string {
	var parts []string
	for _, k := range slices.Sorted(maps.Keys(p.Set)) {
		parts = append(parts, fmt.Sprintf("%s = %s", k, p.Set[k]))
	}
	return "set " + strings.Join(parts, ", ")
}

func (p *SettingsChanged) fields(w *walk) {
	if !w.need("set") {
		return
	}
	sortedMap(w, "set", &p.Set, named, func(k SettingKey, v *string) {
		w.str(string(k), v, orEmpty(line))
	})
	if w.err == nil && len(p.Set) == 0 {
		w.fail("set: is empty")
	}
}

// FeedStarted is the first line of every feed. Last is the last line of the
// previous feed that its owner could vouch for.
type FeedStarted struct {
	said
	Previous FeedID
	Last     Maybe[Head]
	Why      StartWhy
}

func (FeedStarted) Kind() Kind          { return "feed.started" }
func (FeedStarted) Subjects() []Subject { return nil }
func (p FeedStarted) String() string {
	if p.Previous == "" {
		return "began a feed"
	}
	return fmt.Sprintf("began a new feed (%s) after %s", p.Why, p.Previous.Short())
}

func (p *FeedStarted) fields(w *walk) {
	textOpt(w, "previous", &p.Previous, isFeed)
	if maybe(w, "last", &p.Last) {
		w.lit("[")
		numValue(w, "last", &p.Last.Value.Seq, 1, maxInt)
		w.lit(",")
		s := p.Last.Value.Hash.String()
		w.str("last", &s, isHash)
		if w.reading && w.err == nil {
			p.Last.Value.Hash, w.err = ParseHash(s)
		}
		w.lit("]")
	}
	text(w, "why", &p.Why, oneOf(StartWhys...))
}
