package events

import (
	"crypto/ed25519"
	"encoding/base64"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Signature is an Ed25519 signature in strict base64: 88 characters.
type Signature string

// SignatureChars is the length of a Signature.
const SignatureChars = 88

// Sign signs a statement and writes the signature as text.
func Sign(key ed25519.PrivateKey, statement []byte) Signature {
	return Signature(base64.StdEncoding.EncodeToString(ed25519.Sign(key, statement)))
}

// ParseSignature reads the one canonical spelling of 64 bytes.
func ParseSignature(s string) ([]byte, error) {
	b, err := strictBase64.DecodeString(s)
	if err != nil || len(b) != ed25519.SignatureSize || len(s) != SignatureChars {
		return nil, errors.New("not a signature: 64 bytes in strict base64")
	}
	return b, nil
}

// SpellsSignature says whether s is the one canonical spelling of 64 bytes.
func SpellsSignature(s []byte) bool {
	return len(s) == SignatureChars && isBase64(s[:SignatureChars-2], ed25519.SignatureSize) && string(s[SignatureChars-2:]) == "=="
}

var strictBase64 = base64.StdEncoding.Strict()

// VerifiedBy says whether s is key's signature over the statement.
func (s Signature) VerifiedBy(key Key, statement []byte) bool {
	pub, err := key.Public()
	if err != nil {
		return false
	}
	sig, err := ParseSignature(string(s))
	return err == nil && ed25519.Verify(pub, statement, sig)
}

// Statements that keys sign about membership. Each begins with a line that no
// other signed thing of ours begins with, so that none can pass for another.

// Statement is what the issuer of an invite signs.
func (g Grant) Statement(site SiteID) []byte {
	return statement("pairwalk invite v1", string(site), string(g.Key), string(g.Role), fmt.Sprint(int64(g.Expires)), string(g.Issuer))
}

// Statement is what the invite key signs for a joiner, or the root for a lead.
func (p MemberJoined) Statement(site SiteID) []byte {
	return statement("pairwalk member v1", string(site), string(p.Key), string(p.Bus), string(p.Role))
}

// Statement is what the root signs to end a lead's say.
func (p MemberRevoked) Statement(site SiteID) []byte {
	parts := []string{"pairwalk revoke v1", string(site), string(p.Key)}
	for _, f := range slices.Sorted(maps.Keys(p.Heads)) {
		parts = append(parts, fmt.Sprintf("%s %d %s", f, p.Heads[f].Seq, p.Heads[f].Hash))
	}
	return statement(parts...)
}

func statement(lines ...string) []byte {
	return []byte(strings.Join(lines, "\n") + "\n")
}

// Errors of a join proof.
var (
	ErrWrongRoot  = errors.New("root key is not the site's")
	ErrWrongFeed  = errors.New("joined with a key that does not sign this feed")
	ErrBadGrant   = errors.New("invite is not signed by its issuer")
	ErrBadProof   = errors.New("join is not signed by the invite or the root")
	ErrBadVoucher = errors.New("issuer of the invite was not made a lead by the root")
	ErrRoleDiffer = errors.New("joined in another role than invited")
	ErrLeadByLead = errors.New("only the root makes leads")
)

// Proven checks the chain of signatures of a join said in a feed, back to the
// site's root key. It does not ask whether the issuer is still a lead in good
// standing; that is a question for the log as a whole.
func (p MemberJoined) Proven(site SiteID, feed FeedID) error {
	pub, err := p.Root.Public()
	if err != nil || SiteOf(pub) != site {
		return ErrWrongRoot
	}
	if feed.Key() != p.Key {
		return ErrWrongFeed
	}
	signer := p.Root
	if p.Grant.Known {
		if err := p.granted(site); err != nil {
			return err
		}
		signer = p.Grant.Value.Key
	} else if p.Role != Lead {
		return ErrBadProof
	}
	if !p.Proof.VerifiedBy(signer, p.Statement(site)) {
		return ErrBadProof
	}
	return nil
}

// granted checks the invite a join used, and its issuer.
func (p MemberJoined) granted(site SiteID) error {
	g := p.Grant.Value
	switch {
	case !g.Signature.VerifiedBy(g.Issuer, g.Statement(site)):
		return ErrBadGrant
	case g.Role != p.Role:
		return ErrRoleDiffer
	case g.Issuer == p.Root:
		return nil
	case g.Role == Lead:
		return ErrLeadByLead
	}
	v := p.Voucher.Value
	issuer := MemberJoined{Role: Lead, Key: g.Issuer, Bus: v.Bus, Root: p.Root, Grant: v.Grant, Proof: v.Proof}
	if !p.Voucher.Known || issuer.Proven(site, NewFeedID(g.Issuer, [8]byte{})) != nil {
		return ErrBadVoucher
	}
	return nil
}

// Vouch is what a lead's own join says for the invites it issues.
func (p MemberJoined) Vouch() Voucher { return Voucher{p.Bus, p.Grant, p.Proof} }
