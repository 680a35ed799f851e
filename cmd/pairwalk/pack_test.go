package main

import (
	"bytes"
	"crypto/rand"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/projection"
	"pairwalk/projection/handover"
	"pairwalk/syncd/member"
)

// Pages of another version can't be made again, so they stand on the seal of a
// member; a stranger's is worth nothing for them.
func TestPagesOfAnotherVersionStandOnAMembersSeal(t *testing.T) {
	a := &app{surroundings: surroundings{stdout: &bytes.Buffer{}, stderr: &bytes.Buffer{}, env: func(string) string { return "" }}, ctx: t.Context(), cli: &cli{}}
	ann, cy := annAndCy(t)
	of := func(m *member.Member, version string) member.PackCheck {
		x := m.Excerpt(projection.Known{Member: ann.Key()}) // which had not heard of Cy
		src := handover.NewSource(x.History, projection.At(x.Last), nil)
		src.Version = version
		pages := []handover.File{{Name: "report.pdf"}, {Name: "report.html"}, {Name: "cobie.xlsx"}}
		p, err := handover.Bind(src, pages, "", func(of string) ([]byte, error) { return m.Seal(x, of) })
		require.NoError(t, err)
		folder := filepath.Join(t.TempDir(), "pack")
		to, err := disk{}.shelve(folder, false)
		require.NoError(t, err)
		put(t, to, p)
		require.NoError(t, to.keep())
		check, err := a.checkPack(folder)
		require.NoError(t, err)
		return check
	}
	check := of(ann, "another")
	require.Empty(t, check.Problems)
	require.Equal(t, []string{"made by another version (another, this is " + handover.Version + "); pages not compared"}, check.Notes)
	require.Equal(t, string(handover.NoPage), check.Pages)
	require.Equal(t, member.PackMaker{Name: "Ann", Key: string(ann.Key()), Standing: "admitted"}, check.Maker)

	check = of(cy, "another")
	require.Len(t, check.Problems, 1)
	require.Contains(t, check.Problems[0], `calling themselves "Cy": nobody vouches for the pages`)

	check = of(ann, handover.Version)
	require.NotEmpty(t, check.Problems, "of this version they are held against the log, whoever sealed them")
	require.Contains(t, check.Problems, "report.html: does not follow from the log in the pack: somebody changed it")
}

// annAndCy are two members, of whom Ann has not heard that Cy joined.
func annAndCy(t *testing.T) (ann, cy *member.Member) {
	world := member.World{Now: deviceStamp, Rand: rand.Reader}
	ann, _, err := member.NewHome(journal.Memory(), world).Init(t.Context(), member.Opening{Name: "Kiln", Person: "Ann", Zone: "UTC", Practice: true})
	require.NoError(t, err)
	token, err := ann.Invite(events.Tech, time.Hour, "")
	require.NoError(t, err)
	cy, err = member.NewHome(journal.Memory(), world).Join(t.Context(), token, "Cy", "")
	require.NoError(t, err)
	var log bytes.Buffer
	_, err = ann.BundleOut(t.Context(), &log)
	require.NoError(t, err)
	_, err = cy.BundleIn(t.Context(), &log)
	require.NoError(t, err)
	t.Cleanup(func() { _, _ = ann.Close(), cy.Close() })
	return ann, cy
}
