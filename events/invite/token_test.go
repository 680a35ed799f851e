package invite

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
)

func TestTokenLetsAMemberIn(t *testing.T) {
	root, _ := ana(t)
	carla := keyOf(30)
	byCarla, err := NewToken(dice(9), carla, root.Key(), carlasJoin(t, carla), offer(events.Tech))
	require.NoError(t, err)
	byRoot, err := root.NewToken(dice(9), offer(events.Lead))
	require.NoError(t, err)

	for name, token := range map[string]Token{
		"tech, by a lead":          byAna(t, offer(events.Tech)),
		"viewer, by a lead":        byAna(t, offer(events.Viewer)),
		"relay, by a lead":         byAna(t, offer(events.RelayRole)),
		"tech, by an invited lead": byCarla,
		"lead, by the root":        byRoot,
	} {
		t.Run(name, func(t *testing.T) {
			got, err := Parse(token.String())
			require.NoError(t, err)
			require.Equal(t, token, got)

			join := got.Join("Ben", "ben@harbour.example", public(benKey), public(benBus))
			require.NoError(t, join.Proven(root.Site(), events.NewFeedID(public(benKey), [8]byte{1})))
			require.Equal(t, token.Grant.Role, join.Role)
			require.Equal(t, "Ben", join.Name)
			require.Equal(t, "ben@harbour.example", join.Contact)
			_, err = events.EncodeBody(join)
			require.NoError(t, err)
		})
	}
}

func TestJoinTamperedWith(t *testing.T) {
	root, _ := ana(t)
	feed := events.NewFeedID(public(benKey), [8]byte{1})
	other := byAna(t, offer(events.Viewer))
	mallory := keyOf(66)

	for _, tt := range []struct {
		name   string
		change func(*events.MemberJoined)
		err    error
	}{
		{"another feed key", func(p *events.MemberJoined) { p.Key = public(mallory) }, events.ErrWrongFeed},
		{"another bus key", func(p *events.MemberJoined) { p.Bus = public(mallory) }, events.ErrBadProof},
		{"another role", func(p *events.MemberJoined) { p.Role = events.Viewer }, events.ErrRoleDiffer},
		{"a role raised in the grant too", func(p *events.MemberJoined) { p.Role, p.Grant.Value.Role = events.Lead, events.Lead }, events.ErrBadGrant},
		{"a later expiry", func(p *events.MemberJoined) { p.Grant.Value.Expires++ }, events.ErrBadGrant},
		{"another issuer", func(p *events.MemberJoined) { p.Grant.Value.Issuer = root.Key() }, events.ErrBadGrant},
		{"another invite's key", func(p *events.MemberJoined) { p.Grant.Value.Key = public(mallory) }, events.ErrBadGrant},
		{"another invite's grant", func(p *events.MemberJoined) { p.Grant.Value, p.Role = other.Grant, events.Viewer }, events.ErrBadProof},
		{"no grant", func(p *events.MemberJoined) { p.Grant = events.Maybe[events.Grant]{} }, events.ErrBadProof},
		{"no grant, as a lead", func(p *events.MemberJoined) { p.Grant, p.Role = events.Maybe[events.Grant]{}, events.Lead }, events.ErrBadProof},
		{"no voucher for the lead", func(p *events.MemberJoined) { p.Voucher = events.Maybe[events.Voucher]{} }, events.ErrBadVoucher},
		{"a voucher for another bus key", func(p *events.MemberJoined) { p.Voucher.Value.Bus = public(mallory) }, events.ErrBadVoucher},
		{"another lead's voucher", func(p *events.MemberJoined) { p.Voucher = events.Some(carlasJoin(t, keyOf(30)).Vouch()) }, events.ErrBadVoucher},
		{"another site's root", func(p *events.MemberJoined) { p.Root = rootFrom(t, 2).Key() }, events.ErrWrongRoot},
		{"the joiner's own proof", func(p *events.MemberJoined) { p.Proof = events.Sign(benKey, p.Statement(root.Site())) }, events.ErrBadProof},
		{"a proof for another site", func(p *events.MemberJoined) {
			p.Proof = events.Sign(byAna(t, offer(events.Tech)).Secret.Key(), p.Statement(rootFrom(t, 2).Site()))
		}, events.ErrBadProof},
	} {
		t.Run(tt.name, func(t *testing.T) {
			join := bensJoin(t)
			require.NoError(t, join.Proven(root.Site(), feed))
			tt.change(&join)
			require.ErrorIs(t, join.Proven(root.Site(), feed), tt.err)
		})
	}
}

func TestWhoMayInvite(t *testing.T) {
	root, lead := ana(t)
	elsewhere := rootFrom(t, 2)
	selfMade := lead
	selfMade.Key = public(benKey)
	leadByLead := resigned(byAna(t, offer(events.Tech)), anaKey, func(t *Token) { t.Grant.Role = events.Lead })
	escalated := leadByLead.Join("Ben", "", public(benKey), public(benBus))

	for _, tt := range []struct {
		name string
		make func() (Token, error)
		err  error
	}{
		{"a lead invites a lead", func() (Token, error) {
			return NewToken(dice(7), anaKey, root.Key(), lead, offer(events.Lead))
		}, events.ErrLeadByLead},
		{"a tech invites", func() (Token, error) {
			return NewToken(dice(7), benKey, root.Key(), bensJoin(t), offer(events.Tech))
		}, ErrNotLead},
		{"a tech signs for the lead", func() (Token, error) {
			return NewToken(dice(7), benKey, root.Key(), lead, offer(events.Tech))
		}, ErrNotLead},
		{"a tech puts the lead's proof on his key", func() (Token, error) {
			return NewToken(dice(7), benKey, root.Key(), selfMade, offer(events.Tech))
		}, events.ErrBadProof},
		{"a lead whom a lead made invites", func() (Token, error) {
			return NewToken(dice(7), benKey, root.Key(), escalated, offer(events.Tech))
		}, events.ErrLeadByLead},
		{"a lead of another site invites", func() (Token, error) {
			return NewToken(dice(7), anaKey, elsewhere.Key(), lead, offer(events.Tech))
		}, events.ErrWrongRoot},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := tt.make()
			require.ErrorIs(t, err, tt.err)
		})
	}
}

func TestOfferIsChecked(t *testing.T) {
	root, lead := ana(t)
	meetAt := func(addr string) func(*Offer) {
		return func(o *Offer) { o.Meet = []Meeting{{Addr: addr, Key: public(anaBus)}} }
	}
	for name, change := range map[string]func(*Offer){
		"no site name":            func(o *Offer) { o.SiteName = "" },
		"a site name of lines":    func(o *Offer) { o.SiteName = "Harbour\nHouse" },
		"a site name not UTF-8":   func(o *Offer) { o.SiteName = "\xff" },
		"no zone":                 func(o *Offer) { o.Zone = "" },
		"no role":                 func(o *Offer) { o.Role = "" },
		"a role of no kind":       func(o *Offer) { o.Role = "boss" },
		"an expiry before 1970":   func(o *Offer) { o.Expires = -1 },
		"nine meeting points":     func(o *Offer) { o.Meet = slices.Repeat(o.Meet, 9) },
		"a meeting without a key": func(o *Offer) { o.Meet[0].Key = "" },
		"an address of no port":   meetAt("192.168.1.20"),
		"an address of no host":   meetAt(":4222"),
		"port nought":             meetAt("relay.example:0"),
		"a port with a nought":    meetAt("relay.example:04222"),
		"a port past the last":    meetAt("relay.example:65536"),
		"a service's name":        meetAt("relay.example:https"),
		"an address with a space": meetAt("relay example:4222"),
		"an address of lines":     meetAt("relay.example\n:4222"),
		"a link":                  meetAt("nats://relay.example:4222"),
		"IPv6 without brackets":   meetAt("fd00::1:4222"),
		"brackets round no IPv6":  meetAt("[relay]:4222"),
		"an endless name":         meetAt(strings.Repeat("a", 300) + ":4222"),
	} {
		t.Run(name, func(t *testing.T) {
			o := offer(events.Tech)
			change(&o)
			_, err := NewToken(dice(7), anaKey, root.Key(), lead, o)
			require.Error(t, err)
		})
	}
	for _, addr := range []string{"192.168.1.20:4222", "relay.harbour.example:443", "laptop-7:1", "[fd00::1]:4222", "[fe80::1%eth0]:4222", "Relay:65535"} {
		t.Run(addr, func(t *testing.T) {
			o := offer(events.Tech)
			meetAt(addr)(&o)
			got, err := Parse(byAna(t, o).String())
			require.NoError(t, err)
			require.Equal(t, addr, got.Meet[0].Addr)
		})
	}
}

func TestExpiry(t *testing.T) {
	root, _ := ana(t)
	token := byAna(t, offer(events.Tech))
	require.False(t, token.Expired(june))
	require.NoError(t, token.Current(june))
	require.True(t, token.Expired(june+1))
	require.ErrorIs(t, token.Current(june+1), ErrExpired)
	require.ErrorContains(t, token.Current(june+1), "ask Ana for a new one")

	byRoot, err := root.NewToken(dice(7), offer(events.Lead))
	require.NoError(t, err)
	require.ErrorContains(t, byRoot.Current(june+1), "ask a lead for a new one")
}

func TestPracticeSaysSo(t *testing.T) {
	o := offer(events.Tech)
	o.Practice = true
	text := byAna(t, o).String()
	require.True(t, strings.HasPrefix(text, "pairwalk1-practice:"))
	got, err := Parse(text)
	require.NoError(t, err)
	require.True(t, got.Practice)
	require.True(t, strings.HasPrefix(byAna(t, offer(events.Tech)).String(), "pairwalk1:"))
}

func TestSecretStaysOutOfDebuggingOutput(t *testing.T) {
	token := byAna(t, offer(events.Tech))
	secret := fmt.Sprintf("%x", token.Secret[:])
	for _, text := range []string{fmt.Sprintf("%#v", token), fmt.Sprint(token.Secret), fmt.Sprintf("%#v", token.Secret)} {
		require.NotContains(t, text, secret)
		require.NotContains(t, text, "0x7, 0x7")
		require.NotContains(t, text, token.String())
	}
}

func TestTwoTokensHaveTwoKeys(t *testing.T) {
	root, lead := ana(t)
	a, err := NewToken(dice(7), anaKey, root.Key(), lead, offer(events.Tech))
	require.NoError(t, err)
	b, err := NewToken(dice(8), anaKey, root.Key(), lead, offer(events.Tech))
	require.NoError(t, err)
	require.NotEqual(t, a.Grant.Key, b.Grant.Key)
	_, err = NewToken(strings.NewReader("short"), anaKey, root.Key(), lead, offer(events.Tech))
	require.Error(t, err)
}

// Any offer that is taken makes a token that comes back the same.
func TestAnyTokenRoundTrips(t *testing.T) {
	root, lead := ana(t)
	name := rapid.StringMatching(`[A-Za-zäöü0-9][A-Za-zäöü0-9 .'"&<>]{0,40}[A-Za-z0-9]`)
	rapid.Check(t, func(rt *rapid.T) {
		o := Offer{
			SiteName: name.Draw(rt, "site"), Zone: name.Draw(rt, "zone"), Practice: rapid.Bool().Draw(rt, "practice"),
			Role:    rapid.SampledFrom([]events.Role{events.Tech, events.Viewer, events.RelayRole}).Draw(rt, "role"),
			Expires: events.Instant(rapid.Int64Range(0, 1<<53-1).Draw(rt, "expires")),
		}
		for range rapid.IntRange(0, meetMost).Draw(rt, "meetings") {
			o.Meet = append(o.Meet, Meeting{
				Addr: rapid.StringMatching(`([a-z]{1,9}(\.[a-z0-9-]{1,9}){0,3}|[1-9]\d?\.0\.0\.\d|\[fd00::[1-9]\]):[1-9]\d{0,3}`).Draw(rt, "addr"),
				Key:  rapid.SampledFrom([]events.Key{public(anaBus), public(benBus)}).Draw(rt, "key"),
			})
		}
		token, err := NewToken(dice(7), anaKey, root.Key(), lead, o)
		require.NoError(t, err)
		got, err := Parse(token.String())
		require.NoError(t, err)
		require.Equal(t, token, got)
	})
}
