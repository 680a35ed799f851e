package label

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// An Element is a GS1 Application Identifier with its value, which a maker may
// have filled with anything: see [Read] for what of it may be kept.
type Element struct{ AI, Value string }

// separator ends a field of variable length, where a symbol has FNC1.
const separator = "\x1d"

var errNotGS1 = errors.New("this is not a GS1 element string")

// ParseGS1 reads a GS1 element string as scanned, or as printed with its
// identifiers in brackets. Errors name the identifier and never the value.
func ParseGS1(text string) ([]Element, error) {
	split := scanned
	if strings.HasPrefix(text, "(") {
		split = printed
	}
	out, err := split(text)
	if err != nil {
		return nil, err
	}
	if len(out) == 0 {
		return nil, errNotGS1
	}
	for i, e := range out {
		s, _ := shapeOf(e.AI)
		if wrong := s.wrong(e.Value); wrong != "" {
			return nil, fmt.Errorf("(%s) %s; scan the label again, or type the serial printed on it", e.AI, wrong)
		}
		for _, f := range out[:i] {
			if f.AI == e.AI && f.Value != e.Value {
				return nil, fmt.Errorf("(%s) is there twice; scan one label at a time", e.AI)
			}
		}
	}
	return out, nil
}

// scanned cuts what a scanner gives.
func scanned(text string) ([]Element, error) {
	var out []Element
	text = strings.TrimPrefix(text, separator)
	for text != "" {
		ai, s, ok := identifier(text)
		if !ok {
			return nil, errNotGS1
		}
		text = text[len(ai):]
		end := strings.Index(text, separator)
		if end < 0 {
			end = len(text)
		}
		if s.more == 0 {
			end = min(end, s.digits)
		}
		out = append(out, Element{ai, text[:end]})
		text = strings.TrimPrefix(text[end:], separator)
	}
	return out, nil
}

// printed cuts what stands under a symbol. A value may hold brackets of its own,
// but not around a known identifier.
func printed(text string) ([]Element, error) {
	var out []Element
	for text = strings.TrimSpace(text); text != ""; {
		ai, after, ok := bracketed(text)
		if !ok {
			return nil, errNotGS1
		}
		end := 0
		for end < len(after) {
			if _, _, ok := bracketed(after[end:]); ok {
				break
			}
			end++
		}
		out = append(out, Element{ai, strings.Trim(after[:end], " "+separator)})
		text = after[end:]
	}
	return out, nil
}

// bracketed takes a known identifier in brackets off the front.
func bracketed(text string) (ai, after string, ok bool) {
	if !strings.HasPrefix(text, "(") {
		return "", "", false
	}
	ai, after, ok = strings.Cut(text[1:], ")")
	if !ok {
		return "", "", false
	}
	_, ok = shapeOf(ai)
	return ai, after, ok
}

// textMax is how long the kept text of a label may be.
const textMax = 400

// kept makes a finding of the elements of a label, with what of them may be kept.
// Unless it is sure that the text is all one element string, a ; or , in it may
// part one thing from another.
func kept(form Form, elements []Element, sure bool) finding {
	if !sure && slices.ContainsFunc(elements, func(e Element) bool { return strings.ContainsFunc(e.Value, listed) }) {
		return finding{err: errListed}
	}
	f := finding{kind: good, elements: true, Reading: Reading{Form: form}}
	var left []string
	for _, e := range elements {
		s, _ := shapeOf(e.AI)
		piece := "(" + e.AI + ")" + e.Value
		switch {
		case hidden(e):
			f.Secret = true
			f.Notes = append(f.Notes, "("+e.AI+") may be a secret and was left out")
			continue
		case !s.keep || strings.ContainsAny(e.Value, "=&") || len(f.Text)+len(piece) > textMax:
			left = append(left, "("+e.AI+")")
			continue
		}
		f.Text += piece
		switch e.AI {
		case "01", "8006":
			f.GTIN = e.Value[:14]
		case "21", "8004":
			f.Serial, f.rank = e.Value, rankGS1
		case "8003":
			if len(e.Value) > s.digits {
				f.Serial, f.rank = e.Value, rankGS1
			}
		}
	}
	slices.Sort(left)
	if left = slices.Compact(left); len(left) > 0 {
		f.Notes = append(f.Notes, "left out, as it is not known what it holds: "+strings.Join(left, " "))
	}
	return f
}

// hidden says whether the value of an element is a secret that a maker has put
// there, or has one among its parts. Of a serial, 11 digits are a serial.
func hidden(e Element) bool {
	parts := append(strings.FieldsFunc(e.Value, listed), e.Value)
	for _, part := range parts {
		form, secret := secretIn(part)
		if secret && (e.AI != "21" || form != FormMatterManual || part != e.Value) || part != e.Value && slip(part) {
			return true
		}
	}
	return false
}
