package events_test

import (
	"bytes"
	"crypto/ed25519"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

func TestJoinsThatAreProven(t *testing.T) {
	for name, p := range map[string]events.MemberJoined{
		"a lead made by the root":        adaJoined(),
		"a technician invited by a lead": benJoined(),
		"a lead invited by the root":     deeJoined(),
		"a relay invited by the root": joinedBy(events.MemberJoined{Role: events.RelayRole, Key: ben, Bus: benBus},
			granted(events.Grant{Key: invite, Role: events.RelayRole, Issuer: root}, 1), 4),
		"a viewer invited by a lead whom the root invited": joinedBy(
			events.MemberJoined{Role: events.Viewer, Key: ben, Bus: benBus, Voucher: events.Some(deeJoined().Vouch())},
			granted(events.Grant{Key: invite, Role: events.Viewer, Issuer: publicOf(fixedKey(6))}, 6), 4),
	} {
		t.Run(name, func(t *testing.T) {
			require.NoError(t, p.Proven(site, feedOf(p.Key)))
			body, err := events.EncodeBody(namedMember(p))
			require.NoError(t, err)
			back, err := events.DecodeBody(p.Kind(), body)
			require.NoError(t, err)
			require.NoError(t, back.(events.MemberJoined).Proven(site, feedOf(p.Key)), "and still, when read back")
		})
	}
}

// Whatever is changed in a proven join, it is proven no more.
func TestJoinsThatAreTamperedWith(t *testing.T) {
	stranger := publicOf(fixedKey(9))
	otherSite := events.SiteOf(fixedKey(9).Public().(ed25519.PublicKey))
	for _, c := range []struct {
		name  string
		spoil func(*events.MemberJoined)
		want  error
	}{
		{"another root", func(p *events.MemberJoined) { p.Root = stranger }, events.ErrWrongRoot},
		{"no root", func(p *events.MemberJoined) { p.Root = "" }, events.ErrWrongRoot},
		{"another's key", func(p *events.MemberJoined) { p.Key = stranger }, events.ErrWrongFeed},
		{"another bus key", func(p *events.MemberJoined) { p.Bus = stranger }, events.ErrBadProof},
		{"a higher role", func(p *events.MemberJoined) { p.Role = events.Lead }, events.ErrRoleDiffer},
		{"a lower role", func(p *events.MemberJoined) { p.Role = events.Viewer }, events.ErrRoleDiffer},
		{"a higher role, in the invite too", func(p *events.MemberJoined) { p.Role, p.Grant.Value.Role = events.Lead, events.Lead }, events.ErrBadGrant},
		{"no proof", func(p *events.MemberJoined) { p.Proof = "" }, events.ErrBadProof},
		{"its own word for proof", func(p *events.MemberJoined) { p.Proof = events.Sign(benKey, p.Statement(site)) }, events.ErrBadProof},
		{"the issuer's word for proof", func(p *events.MemberJoined) { p.Proof = events.Sign(adaKey, p.Statement(site)) }, events.ErrBadProof},
		{"the proof of another site", func(p *events.MemberJoined) { p.Proof = events.Sign(inviteKey, p.Statement(otherSite)) }, events.ErrBadProof},
		{"no invite", func(p *events.MemberJoined) { p.Grant = events.Maybe[events.Grant]{} }, events.ErrBadProof},
		{"an invite kept past its time", func(p *events.MemberJoined) { p.Grant.Value.Expires++ }, events.ErrBadGrant},
		{"an invite of another key", func(p *events.MemberJoined) { p.Grant.Value.Key = stranger }, events.ErrBadGrant},
		{"an invite by another issuer", func(p *events.MemberJoined) { p.Grant.Value.Issuer = stranger }, events.ErrBadGrant},
		{"an invite nobody signed", func(p *events.MemberJoined) { p.Grant.Value.Signature = "" }, events.ErrBadGrant},
		{"an invite signed by its own key", func(p *events.MemberJoined) { resign(p, 4) }, events.ErrBadGrant},
		{"an invite for another site", func(p *events.MemberJoined) {
			p.Grant.Value.Signature = events.Sign(adaKey, p.Grant.Value.Statement(otherSite))
		}, events.ErrBadGrant},
		{"an invite by a stranger, signed", func(p *events.MemberJoined) { p.Grant.Value.Issuer = stranger; resign(p, 9) }, events.ErrBadVoucher},
		{"a lead invited by a lead", func(p *events.MemberJoined) {
			p.Role, p.Grant.Value.Role = events.Lead, events.Lead
			resign(p, 2)
			p.Proof = events.Sign(inviteKey, p.Statement(site))
		}, events.ErrLeadByLead},
		{"nobody to vouch for the issuer", func(p *events.MemberJoined) { p.Voucher.Known = false }, events.ErrBadVoucher},
		{"a voucher with another bus key", func(p *events.MemberJoined) { p.Voucher.Value.Bus = stranger }, events.ErrBadVoucher},
		{"a voucher the root did not sign", func(p *events.MemberJoined) {
			p.Voucher.Value.Proof = events.Sign(adaKey, adaJoined().Statement(site))
		}, events.ErrBadVoucher},
		{"another lead's voucher", func(p *events.MemberJoined) { p.Voucher.Value = deeJoined().Vouch() }, events.ErrBadVoucher},
		{"a voucher from a technician's join", func(p *events.MemberJoined) { p.Voucher.Value = benJoined().Vouch() }, events.ErrBadVoucher},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := benJoined()
			require.NoError(t, p.Proven(site, benFeed))
			c.spoil(&p)
			require.ErrorIs(t, p.Proven(site, benFeed), c.want)
		})
	}
	require.ErrorIs(t, benJoined().Proven(otherSite, benFeed), events.ErrWrongRoot)
	require.ErrorIs(t, benJoined().Proven(site, adaFeed), events.ErrWrongFeed)
	require.ErrorIs(t, benJoined().Proven(site, ""), events.ErrWrongFeed)

	technician := adaJoined()
	technician.Role = events.Tech
	technician.Proof = events.Sign(rootKey, technician.Statement(site))
	require.ErrorIs(t, technician.Proven(site, adaFeed), events.ErrBadProof, "without an invite the root makes leads only")
}

// A technician who was invited can't invite: the chain ends at leads.
func TestATechnicianCannotInvite(t *testing.T) {
	g := granted(events.Grant{Key: publicOf(fixedKey(7)), Role: events.Tech, Issuer: ben}, 3)
	p := joinedBy(events.MemberJoined{
		Role: events.Tech, Key: publicOf(fixedKey(8)), Bus: publicOf(fixedKey(18)), Voucher: events.Some(benJoined().Vouch()),
	}, g, 7)
	require.ErrorIs(t, p.Proven(site, feedOf(p.Key)), events.ErrBadVoucher)
}

// Nothing that one key signs for one purpose can serve another: an invite, a
// join, a revocation and an event (and a carrying file) begin differently, and
// none begins as another goes on.
func TestStatementsCannotStandForEachOther(t *testing.T) {
	opening := func(b []byte) string { return string(b[:bytes.IndexByte(b, '\n')+1]) }
	begin := []string{
		opening(benJoined().Grant.Value.Statement(site)),
		opening(benJoined().Statement(site)),
		opening(adaRevoked().Statement(site)),
		"pairwalk event v1\n",
		"pairwalk bundle v1\n",
	}
	require.Equal(t, []string{"pairwalk invite v1\n", "pairwalk member v1\n", "pairwalk revoke v1\n"}, begin[:3])
	seen := map[string]bool{}
	for _, b := range begin {
		require.False(t, seen[b], b)
		seen[b] = true
	}
}

// Each thing a statement speaks of changes it, and so does the site.
func TestStatementsSayEverythingThatMatters(t *testing.T) {
	stranger := publicOf(fixedKey(9))
	other := events.SiteID(stranger)
	g := benJoined().Grant.Value
	said := map[string]string{}
	say := func(name string, statement []byte) {
		for earlier, s := range said {
			require.NotEqual(t, s, string(statement), "%s says the same as %s", name, earlier)
		}
		said[name] = string(statement)
	}
	say("grant", g.Statement(site))
	say("grant, other site", g.Statement(other))
	for name, change := range map[string]func(*events.Grant){
		"key":     func(g *events.Grant) { g.Key = stranger },
		"role":    func(g *events.Grant) { g.Role = events.Viewer },
		"expires": func(g *events.Grant) { g.Expires = 0 },
		"issuer":  func(g *events.Grant) { g.Issuer = stranger },
	} {
		changed := g
		change(&changed)
		say("grant, other "+name, changed.Statement(site))
	}
	p := benJoined()
	say("join", p.Statement(site))
	say("join, other site", p.Statement(other))
	p.Bus = stranger
	say("join, other bus", p.Statement(site))
	p.Role = events.Viewer
	say("join, other role", p.Statement(site))
	p.Key = stranger
	say("join, other key", p.Statement(site))

	r := adaRevoked()
	say("revocation", r.Statement(site))
	say("revocation, other site", r.Statement(other))
	r.Heads[adaFeed] = events.Head{Seq: 11, Hash: hash(12)}
	say("revocation, other seq", r.Statement(site))
	r.Heads[adaFeed] = events.Head{Seq: 11, Hash: hash(11)}
	say("revocation, other hash", r.Statement(site))
	r.Heads[benFeed] = events.Head{Seq: 1, Hash: hash(1)}
	say("revocation, another feed", r.Statement(site))
	r.Heads = nil
	say("revocation, no feed", r.Statement(site))
}

// deeJoined is Dee, a second lead, who came in with an invite from the root.
func deeJoined() events.MemberJoined {
	g := granted(events.Grant{Key: invite, Role: events.Lead, Issuer: root}, 1)
	return joinedBy(events.MemberJoined{Role: events.Lead, Key: publicOf(fixedKey(6)), Bus: publicOf(fixedKey(16))}, g, 4)
}

// granted is g signed by the fixed key of that number.
func granted(g events.Grant, issuer byte) events.Grant {
	g.Expires = minutes(60)
	g.Signature = events.Sign(fixedKey(issuer), g.Statement(site))
	return g
}

// joinedBy is p come in with g, proven by the fixed key of that number.
func joinedBy(p events.MemberJoined, g events.Grant, inviteKey byte) events.MemberJoined {
	p.Root, p.Grant = root, events.Some(g)
	p.Proof = events.Sign(fixedKey(inviteKey), p.Statement(site))
	return p
}

func resign(p *events.MemberJoined, issuer byte) {
	p.Grant.Value.Signature = events.Sign(fixedKey(issuer), p.Grant.Value.Statement(site))
}

func feedOf(k events.Key) events.FeedID { return events.NewFeedID(k, [8]byte{1}) }

func namedMember(p events.MemberJoined) events.MemberJoined {
	p.Name = "Somebody"
	return p
}
