package label

import (
	"errors"
	"net/url"
	"slices"
	"strings"
)

var errNotLink = errors.New("this web address is no GS1 Digital Link, and may hold a secret; type the serial printed on the label")

// isURL says whether a text is a web address.
func isURL(text string) bool {
	scheme, _, ok := strings.Cut(text, "://")
	return ok && (strings.EqualFold(scheme, "http") || strings.EqualFold(scheme, "https"))
}

// ParseLink reads a GS1 Digital Link URI of any host: a key and its qualifiers
// at the end of the path, further elements in the query. What else the query
// holds is passed over.
func ParseLink(text string) ([]Element, error) {
	if !isURL(text) {
		return nil, errNotLink
	}
	u, err := url.Parse(text)
	if err != nil || u.Host == "" || u.User != nil {
		return nil, errNotLink // the parser's own words would repeat the address
	}
	out, ok := fromPath(strings.Split(strings.Trim(u.EscapedPath(), "/"), "/"))
	if !ok {
		return nil, errNotLink
	}
	for pair := range strings.FieldsFuncSeq(u.RawQuery, func(r rune) bool { return r == '&' || r == ';' }) {
		ai, value, _ := strings.Cut(pair, "=")
		value, err := url.PathUnescape(value) // where + is itself
		s, known := shapeOf(ai)
		if err != nil || !known || s.wrong(value) != "" {
			continue
		}
		if slices.ContainsFunc(out, func(e Element) bool { return e.AI == ai }) {
			return nil, errNotLink
		}
		out = append(out, Element{ai, value})
	}
	return out, nil
}

// fromPath finds the elements at the end of a path, whatever stands before them.
func fromPath(segments []string) ([]Element, bool) {
	for i := len(segments) % 2; i < len(segments); i += 2 {
		if out, ok := pairs(segments[i:]); ok {
			return out, true
		}
	}
	return nil, false
}

// pairs reads a key and its qualifiers.
func pairs(segments []string) ([]Element, bool) {
	var out []Element
	var follow []string
	for i := 0; i+1 < len(segments); i += 2 {
		ai := segments[i]
		if long, ok := shortNames[ai]; ok {
			ai = long
		}
		value, err := url.PathUnescape(segments[i+1])
		if err != nil {
			return nil, false
		}
		if gtin, err := ParseGTIN(value); ai == "01" && err == nil {
			value = gtin
		}
		s, known := shapeOf(ai)
		if !known || s.wrong(value) != "" {
			return nil, false
		}
		if i > 0 {
			follow = append(follow, ai)
		}
		out = append(out, Element{ai, value})
	}
	return out, len(out) > 0 && qualifies(out[0].AI, follow)
}
