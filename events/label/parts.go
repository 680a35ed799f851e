package label

import (
	"slices"
	"strings"
)

// runParts is in how many parts a secret may have been cut.
const runParts = 24

// part is one of the things that a label may say.
type part struct {
	text string
	tail bool // it follows a ; or , which may belong to what stands before it
}

// cut cuts a text into its parts, and those that are not known, or hold a secret,
// further.
func cut(text string) []part {
	var out []part
	for whole := range strings.FieldsFuncSeq(text, parted) {
		if k := recognise(whole).kind; k == good || k == suspect {
			out = append(out, part{text: whole})
			continue
		}
		for i, s := range strings.FieldsFunc(whole, listed) {
			out = append(out, part{s, i > 0})
		}
	}
	return out
}

// together reads the parts of a label, and says whether they are more than plain
// text.
func together(parts []part) (finding, bool) {
	found := make([]finding, len(parts))
	for i, p := range parts {
		found[i] = recognise(p.text)
	}
	rejoin(parts, found)
	for i := 1; i < len(parts); i++ {
		if found[i-1].elements && parts[i].tail && found[i].kind <= ordinary {
			return finding{err: errListed}, true // its last value may go on
		}
	}
	if !slices.ContainsFunc(found, func(f finding) bool { return f.kind > ordinary }) {
		return finding{}, false
	}
	return merge(found), true
}

// rejoin finds the secrets that were cut into several parts, as codes are printed
// in groups of digits.
func rejoin(parts []part, found []finding) {
	was := slices.Clone(found)
	for i := range parts {
		run := squeeze(parts[i].text)
		known := was[i].kind == good
		for j := i + 1; j < min(len(parts), i+runParts) && allHex(run) && len(run) < 36; j++ {
			run += squeeze(parts[j].text)
			known = known || was[j].kind == good
			f, ok := cutSecret(parts[i:j+1], run, known)
			if !ok {
				continue
			}
			for k := i; k <= j; k++ {
				if found[k].kind != secret || f.kind == secret {
					found[k] = f
				}
			}
		}
	}
}

// cutSecret says whether parts that stand side by side are a secret. Where one of
// them is known by itself, such as an EUI-64 beside a short serial, it takes more
// to doubt it.
func cutSecret(parts []part, run string, known bool) (finding, bool) {
	var text string
	for _, p := range parts {
		text += p.text + " "
	}
	form, isSecret := secretIn(text)
	switch {
	case isSecret && (form == FormInstallCode || form == FormMatterManual && !known):
		return secretFinding(text, form), true
	case known && (len(parts) == 2 || !even(parts)):
	case slip(text):
		return finding{kind: suspect, err: errSlip}, true
	}
	return finding{}, false
}

// even says whether all parts but the last, which may be shorter, are as long as
// each other.
func even(parts []part) bool {
	long, last := len(parts[0].text), len(parts)-1
	return len(parts[last].text) <= long && !slices.ContainsFunc(parts[:last], func(p part) bool { return len(p.text) != long })
}

// merge makes one finding of those of the parts.
func merge(found []finding) finding {
	out := finding{kind: good}
	var first error
	var texts []string
	other, doubt := false, false
	for _, f := range found {
		switch f.kind {
		case secret:
			out.Secret = true
			out.Notes = append(out.Notes, f.Notes...)
			if out.Form == "" {
				out.Form = f.Form
			}
		case suspect:
			out.Secret, doubt = true, true
			if first == nil {
				first = f.err
			}
		case good:
			if err := out.join(f); err != nil {
				return finding{err: err}
			}
			if len(texts) == 0 && out.rank == 0 {
				out.Form = f.Form
			}
			texts = append(texts, f.Text)
		default:
			other = true
		}
	}
	if len(texts) == 0 && doubt {
		return finding{err: first}
	}
	if doubt {
		out.Notes = append(out.Notes, "something that may be a secret was left out")
	}
	if other {
		out.Notes = append(out.Notes, "other text on the label was left out")
	}
	out.Text = fitting(texts)
	out.Notes = unique(out.Notes)
	return out
}

// join adds what a further part says of the same unit.
func (f *finding) join(g finding) error {
	switch {
	case f.GTIN != "" && g.GTIN != "" && f.GTIN != g.GTIN:
		return errTwoMakes
	case f.EUI64 != "" && g.EUI64 != "" && f.EUI64 != g.EUI64,
		f.rank > 0 && f.rank == g.rank && f.Serial != g.Serial:
		return errTwoUnits
	}
	if f.GTIN == "" {
		f.GTIN = g.GTIN
	}
	if f.EUI64 == "" {
		f.EUI64 = g.EUI64
	}
	if g.rank > f.rank {
		f.Form, f.Serial, f.rank = g.Form, g.Serial, g.rank
	}
	f.Secret = f.Secret || g.Secret
	f.Notes = append(f.Notes, g.Notes...)
	return nil
}

// fitting joins the texts that there is room for, each once.
func fitting(texts []string) string {
	var out string
	for _, t := range unique(texts) {
		if t != "" && len(out)+1+len(t) <= textMax {
			out = strings.TrimPrefix(out+" "+t, " ")
		}
	}
	return out
}

func unique(all []string) []string {
	var out []string
	for _, s := range all {
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}
