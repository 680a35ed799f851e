package web_test

import (
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// shape is a type of ui/src/api.ts, as far as documents need it: what the page's
// compiler believes of an answer is what the answer is held against.
type shape struct {
	name   string            // string, number, boolean, null, unknown, or of an interface
	text   string            // of a literal
	of     *shape            // of a list, or of a record's values
	tuple  []*shape          // a list of so many
	fields map[string]*field // of an object
	either []*shape
	record bool
}

type field struct {
	*shape
	optional bool
}

// reading is api.ts while it is read.
type reading struct {
	t      *testing.T
	tokens []string
	at     int
}

var (
	comment   = regexp.MustCompile(`//[^\n]*`)
	importing = regexp.MustCompile(`(?m)^import [^\n]*$`)
	token1    = regexp.MustCompile(`'[^']*'|[A-Za-z_][A-Za-z0-9_]*|[0-9]+|[^\s]`)
)

// apiTypes reads the interfaces and types of the documents.
func apiTypes(t *testing.T) map[string]*shape {
	var text string
	for _, file := range []string{"ui/src/api.ts", "ui/src/api_callback.ts"} {
		b, err := os.ReadFile(file)
		require.NoError(t, err)
		text += importing.ReplaceAllString(string(b), "")
	}
	r := &reading{t: t, tokens: token1.FindAllString(comment.ReplaceAllString(text, ""), -1)}
	out := map[string]*shape{}
	for r.at < len(r.tokens) {
		require.Equal(t, "export", r.next())
		switch kind, name := r.next(), r.next(); kind {
		case "interface":
			out[name] = r.object()
		case "type":
			r.must("=")
			out[name] = r.any()
		case "const":
			for r.next() != "const" { // = [ … ] as const
			}
		}
	}
	return out
}

func (r *reading) peek() string {
	if r.at >= len(r.tokens) {
		return ""
	}
	return r.tokens[r.at]
}

func (r *reading) next() string { r.at++; return r.tokens[r.at-1] }

func (r *reading) took(s string) bool {
	if r.peek() == s {
		r.at++
		return true
	}
	return false
}

func (r *reading) must(s string) {
	require.Equal(r.t, s, r.next(), "after %v", r.tokens[max(0, r.at-8):r.at-1])
}

// any is a union.
func (r *reading) any() *shape {
	first := r.one()
	if r.peek() != "|" {
		return first
	}
	out := &shape{either: []*shape{first}}
	for r.took("|") {
		out.either = append(out.either, r.one())
	}
	return out
}

// one is a type with the brackets behind it.
func (r *reading) one() *shape {
	var s *shape
	switch word := r.peek(); {
	case word == "{":
		s = r.object()
	case r.took("("):
		s = r.any()
		r.must(")")
	case r.took("["):
		s = &shape{}
		for !r.took("]") {
			s.tuple = append(s.tuple, r.any())
			r.took(",")
		}
	case r.took("Record"):
		r.must("<")
		r.must("string")
		r.must(",")
		s = &shape{record: true, of: r.any()}
		r.must(">")
	case word[0] == '\'':
		s = &shape{text: strings.Trim(r.next(), "'")}
	default:
		s = &shape{name: r.next()}
	}
	for r.took("[") {
		if r.took("]") {
			s = &shape{of: s}
			continue
		}
		s = &shape{name: s.name + "." + strings.Trim(r.next(), "'")}
		r.must("]")
	}
	return s
}

func (r *reading) object() *shape {
	r.must("{")
	out := &shape{fields: map[string]*field{}}
	for !r.took("}") {
		name := r.next()
		optional := r.took("?")
		r.must(":")
		out.fields[name] = &field{r.any(), optional}
		for r.took(";") || r.took(",") {
		}
	}
	return out
}

// fits says what keeps a value from being of a type, "" if nothing does.
type fitting struct {
	types  map[string]*shape
	strict bool // fields that the type does not have are wrong
}

func (f fitting) fits(at string, v any, s *shape) string {
	switch {
	case s.either != nil:
		var why []string
		for _, x := range s.either {
			w := f.fits(at, v, x)
			if w == "" {
				return ""
			}
			why = append(why, w)
		}
		return strings.Join(why, "; or ")
	case s.fields != nil:
		return f.object(at, v, s)
	case s.text != "":
		if v != s.text {
			return fmt.Sprintf("%s is %v, not %q", at, v, s.text)
		}
		return ""
	case s.of != nil && !s.record, s.tuple != nil:
		return f.list(at, v, s)
	case s.record:
		m, ok := v.(map[string]any)
		if !ok {
			return fmt.Sprintf("%s is %T, not a record", at, v)
		}
		for k, x := range m {
			if w := f.fits(at+"."+k, x, s.of); w != "" {
				return w
			}
		}
		return ""
	}
	return f.named(at, v, s)
}

func (f fitting) named(at string, v any, s *shape) string {
	ok := false
	switch s.name {
	case "string":
		_, ok = v.(string)
	case "number":
		_, ok = v.(float64)
	case "boolean":
		_, ok = v.(bool)
	case "null":
		ok = v == nil
	case "unknown":
		ok = true
	default:
		name, part, parted := strings.Cut(s.name, ".")
		x := f.types[name]
		if x == nil {
			return "no type " + s.name
		}
		if parted {
			return f.fits(at, v, x.fields[part].shape)
		}
		return f.fits(at, v, x)
	}
	if !ok {
		return fmt.Sprintf("%s is %T, not a %s", at, v, s.name)
	}
	return ""
}

func (f fitting) list(at string, v any, s *shape) string {
	list, ok := v.([]any)
	if !ok || s.tuple != nil && len(list) != len(s.tuple) {
		return fmt.Sprintf("%s is %v, not a list of that length", at, v)
	}
	for i, x := range list {
		of := s.of
		if s.tuple != nil {
			of = s.tuple[i]
		}
		if w := f.fits(fmt.Sprintf("%s[%d]", at, i), x, of); w != "" {
			return w
		}
	}
	return ""
}

func (f fitting) object(at string, v any, s *shape) string {
	m, ok := v.(map[string]any)
	if !ok {
		return fmt.Sprintf("%s is %T, not an object", at, v)
	}
	for name, want := range s.fields {
		x, there := m[name]
		if !there {
			if want.optional {
				continue
			}
			return at + "." + name + " is missing"
		}
		if w := f.fits(at+"."+name, x, want.shape); w != "" {
			return w
		}
	}
	for name := range m {
		if _, known := s.fields[name]; !known && f.strict && !(at == "" && name == "v") {
			return at + "." + name + " is in no type"
		}
	}
	return ""
}

// holds checks that a document is of a type of api.ts.
func holds(t *testing.T, types map[string]*shape, name string, strict bool, doc []byte) {
	t.Helper()
	var v any
	require.NoError(t, json.Unmarshal(doc, &v))
	require.Contains(t, types, name)
	require.Empty(t, fitting{types, strict}.fits("", v, types[name]), "%s: %.300s", name, doc)
	require.Equal(t, float64(1), v.(map[string]any)["v"], name)
}

// The checker finds what it is for.
func TestTheTypesOfThePageAreRead(t *testing.T) {
	types := apiTypes(t)
	require.Greater(t, len(types), 25)
	f := fitting{types, true}
	var names []string
	for name := range types {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, c := range []struct {
		name, doc string
		fits      bool
	}{
		{"Moment", `{"when":"","known":"everything"}`, true},
		{"Moment", `{"when":""}`, false},
		{"Moment", `{"when":"","known":null}`, false},
		{"Moment", `{"when":"","known":"x","more":1}`, false},
		{"Hold", `{"subject":"a","why":"b","since":"c","by":"d"}`, true},
		{"Turn", `[1,2,3,4,"s"]`, true},
		{"Turn", `[1,2,3,4]`, false},
		{"Turn", `[1,2,3,4,5]`, false},
		{"Story", `{"entries":null,"more":false,"total":0}`, false},
		{"Story", `{"entries":[],"more":false,"total":0}`, true},
		{"Settle", `{"hub":"H","verdict":"perhaps","at":"","reasons":[],"ask":[],"heard":[]}`, false},
		{"Settle", `{"hub":"H","verdict":"wait","at":"","reasons":[],"ask":[],"heard":[]}`, true},
	} {
		var v any
		require.NoError(t, json.Unmarshal([]byte(c.doc), &v))
		require.Equal(t, c.fits, f.fits("", v, types[c.name]) == "", "%s %s, of %v", c.name, c.doc, names)
	}
}
