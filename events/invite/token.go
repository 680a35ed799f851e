package invite

import (
	"crypto/ed25519"
	"errors"
	"fmt"
	"io"
	"slices"

	"pairwalk/events"
)

// Errors of making or using an invite.
var (
	ErrNotLead = errors.New("only a lead invites: ask a lead, or take the recovery sheet")
	ErrExpired = errors.New("this invite has expired")
)

const (
	inviteDomain = "pairwalk invite key v1\n"
	tokenDomain  = "pairwalk token v1\n"
)

// Offer is what an issuer puts into an invite.
type Offer struct {
	SiteName string
	Practice bool
	Zone     string // IANA time zone of the site
	Role     events.Role
	Expires  events.Instant // the last instant it is good for, by the issuer's clock
	Meet     []Meeting      // where to meet the others, best first; at most 8
}

// Secret is what makes a token a key: whoever has it can join.
type Secret [16]byte

// Key is the invite key: it signs a joiner's proof, and a first call at a bus.
func (s Secret) Key() ed25519.PrivateKey { return keyFrom(inviteDomain, s[:]) }

func (s Secret) public() events.Key { return events.KeyOf(s.Key().Public().(ed25519.PublicKey)) }

// String keeps the secret out of logs and errors.
func (Secret) String() string { return "(secret)" }

// GoString is String.
func (s Secret) GoString() string { return s.String() }

// Token is an invite. Only [NewToken], [Root.NewToken] and [Parse] make one; it
// is signed as a whole, so a token that was changed afterwards is not taken by
// Parse.
type Token struct {
	Site     events.SiteID
	Root     events.Key
	SiteName string
	Practice bool
	Zone     string

	// Lead is the issuing lead's join, with its proof to the root and without its
	// contact; unknown where the root itself issued the token.
	Lead   events.Maybe[events.MemberJoined]
	Grant  events.Grant
	Secret Secret
	Meet   []Meeting

	signature events.Signature // the issuer's, over all of the above
}

// NewToken is a lead's invite. Key is the lead's feed key; lead is its own join as
// it stands in the log. A lead invites techs, viewers and relays.
func NewToken(rand io.Reader, key ed25519.PrivateKey, root events.Key, lead events.MemberJoined, o Offer) (Token, error) {
	if events.KeyOf(key.Public().(ed25519.PublicKey)) != lead.Key {
		return Token{}, fmt.Errorf("issue invite: %w", ErrNotLead)
	}
	lead.Contact, lead.Replaces, lead.Voucher = "", "", events.Maybe[events.Voucher]{}
	return issue(rand, key, root, events.Some(lead), o)
}

// NewToken is an invite from the root itself, in any role.
func (r Root) NewToken(rand io.Reader, o Offer) (Token, error) {
	return issue(rand, r.key, r.Key(), events.Maybe[events.MemberJoined]{}, o)
}

func issue(rand io.Reader, key ed25519.PrivateKey, root events.Key, lead events.Maybe[events.MemberJoined], o Offer) (Token, error) {
	pub, err := root.Public()
	if err != nil {
		return Token{}, fmt.Errorf("issue invite: %w", err)
	}
	t := Token{
		Site: events.SiteOf(pub), Root: root, SiteName: o.SiteName, Practice: o.Practice, Zone: o.Zone,
		Lead: lead, Meet: slices.Clone(o.Meet),
		Grant: events.Grant{Role: o.Role, Expires: o.Expires, Issuer: events.KeyOf(key.Public().(ed25519.PublicKey))},
	}
	if _, err := io.ReadFull(rand, t.Secret[:]); err != nil {
		return Token{}, fmt.Errorf("draw invite: %w", err)
	}
	t.Grant.Key = t.Secret.public()
	t.Grant.Signature = events.Sign(key, t.Grant.Statement(t.Site))
	t.signature = events.Sign(key, t.statement())
	if err := t.check(); err != nil {
		return Token{}, fmt.Errorf("issue invite: %w", err)
	}
	return t, nil
}

func (t Token) statement() []byte { return append([]byte(tokenDomain), t.content()...) }

// check follows the chain from the whole token to the root, and looks at the
// shape of everything that will be shown or written into a log.
func (t Token) check() error {
	issuer := t.Root
	if lead := t.Lead.Value; t.Lead.Known {
		if lead.Role != events.Lead {
			return ErrNotLead
		}
		if err := lead.Proven(t.Site, events.NewFeedID(lead.Key, [8]byte{})); err != nil {
			return fmt.Errorf("the lead's own join: %w", err)
		}
		issuer = lead.Key
	}
	g := t.Grant
	switch {
	case !g.Signature.VerifiedBy(issuer, g.Statement(t.Site)):
		return events.ErrBadGrant
	case g.Role == events.Lead && issuer != t.Root:
		return events.ErrLeadByLead
	case !t.signature.VerifiedBy(issuer, t.statement()):
		return errors.New("the issuer did not sign it")
	case len(t.Meet) > meetMost:
		return fmt.Errorf("%d meeting points; the most is %d", len(t.Meet), meetMost)
	}
	return t.checkShape()
}

// checkShape lets the log's own rules judge what is bound for a log: the site's
// opening, the lead's join, and the join that the token will make.
func (t Token) checkShape() error {
	said := []events.Payload{events.SiteOpened{Name: t.SiteName, Root: t.Root, Zone: t.Zone, Practice: t.Practice}}
	if t.Lead.Known {
		said = append(said, t.Lead.Value)
	}
	said = append(said, t.Join("joiner", "", t.Root, t.Grant.Key)) // any two keys
	for _, p := range said {
		if _, err := events.EncodeBody(p); err != nil {
			return err
		}
	}
	for _, m := range t.Meet {
		if err := m.check(); err != nil {
			return err
		}
	}
	return nil
}

// Expired says whether the invite's time is over at now.
func (t Token) Expired(now events.Instant) bool { return now > t.Grant.Expires }

// Current is nil while the invite is good, and wraps [ErrExpired] afterwards.
// This device's clock may be wrong: what counts in the end is the lead's.
func (t Token) Current(now events.Instant) error {
	if !t.Expired(now) {
		return nil
	}
	who := "a lead"
	if t.Lead.Known {
		who = t.Lead.Value.Name
	}
	return fmt.Errorf("%w at %s: ask %s for a new one", ErrExpired, t.Grant.Expires, who)
}

// Join is what the holder of the token says to become a member, in a feed signed
// by the private half of feed. Bus is its other public key.
func (t Token) Join(name, contact string, feed, bus events.Key) events.MemberJoined {
	p := events.MemberJoined{
		Name: name, Contact: contact, Role: t.Grant.Role, Key: feed, Bus: bus, Root: t.Root,
		Grant: events.Some(t.Grant),
	}
	if t.Lead.Known {
		p.Voucher = events.Some(t.Lead.Value.Vouch())
	}
	p.Proof = events.Sign(t.Secret.Key(), p.Statement(t.Site))
	return p
}
