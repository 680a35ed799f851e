package label

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A Form is what kind of text a label holds.
type Form string

// The forms. Where a label holds several, the one that its serial is from counts.
const (
	FormEUI64        Form = "eui64"
	FormEUI48        Form = "eui48"
	FormGS1          Form = "gs1"
	FormLink         Form = "digital-link"
	FormInstallCode  Form = "install-code"
	FormMatterQR     Form = "matter-qr"
	FormMatterManual Form = "matter-manual"
	FormPlain        Form = "plain"
)

// Reading is what a label says, without its secrets.
type Reading struct {
	Form   Form
	Serial string   // what to record as the serial; "" where the label holds none that may be kept
	GTIN   string   // 14 digits, if any
	EUI64  string   // 16 lower-case hex digits, if any
	Secret bool     // the label also held a secret, or what may be one, which was dropped
	Text   string   // the label's text that may be stored, in its canonical form; "" if nothing may
	Notes  []string // for a person: what was dropped, what to do next
}

// labelMax is how many bytes of text a label may hold.
const labelMax = 1000

var (
	errEmpty     = errors.New("the label is empty; scan it again, or type the serial printed on it")
	errTooLong   = fmt.Errorf("the label's text is longer than %d bytes; scan one label at a time", labelMax)
	errEncoding  = errors.New("the label's text is not UTF-8; type the serial printed on it")
	errControl   = errors.New("the label's text has control characters; scan it again, or type the serial printed on it")
	errAmbiguous = errors.New("these 16 hex digits are an address (EUI-64), or an install code, which is a secret; type the serial printed on the label")
	errTwoUnits  = errors.New("these are the serials of two units; scan one label at a time")
	errTwoMakes  = errors.New("these are the numbers (GTIN) of two products; scan one label at a time")
	errListed    = errors.New("it is not known whether the ; or , on this label belongs to a serial; type the serial printed on it")
	errSeveral   = errors.New("the label says several things, and it is not known which is the serial; type the one printed as the serial")
)

// Read reads a label. Errors say what is wrong with it and what to do. No secret
// is in what it returns. A label with nothing but secrets is no error: it gives a
// Reading without a serial.
func Read(text string) (Reading, error) {
	if err := readable(text); err != nil {
		return Reading{}, err
	}
	text = tidy(text)
	if text == "" {
		return Reading{}, errEmpty
	}
	f := recognise(text)
	if f.kind <= ordinary || f.kind == secret && strings.ContainsFunc(text, listed) {
		if parts := cut(text); len(parts) == 1 {
			f = recognise(parts[0].text)
		} else if among, found := together(parts); found {
			f = among
		} else if strings.ContainsFunc(text, func(r rune) bool { return parted(r) && !unicode.IsSpace(r) || r == '\n' || r == '\r' }) && f.err == nil {
			f = finding{err: errSeveral}
		}
	}
	return f.reading()
}

// readable says what keeps a text from being read at all.
func readable(text string) error {
	switch {
	case len(text) > labelMax:
		return errTooLong
	case !utf8.ValidString(text):
		return errEncoding
	case strings.ContainsFunc(text, func(r rune) bool { return unicode.IsControl(r) && !parted(r) }):
		return errControl
	}
	return nil
}

// tidy takes off a byte order mark and space at the ends.
func tidy(text string) string { return strings.TrimSpace(strings.TrimPrefix(text, "\ufeff")) }

// parted says whether a character parts the things that a label says.
func parted(r rune) bool { return unicode.IsSpace(r) || r == '|' || string(r) == separator }

// listed says whether a character parts them too, unless they are known as they
// stand.
func listed(r rune) bool { return r == ';' || r == ',' }

// kind is how a part of a label is to be taken.
type kind int

const (
	odd      kind = iota // not known: not kept
	ordinary             // may be a plain serial, if it is alone
	suspect              // may be a secret with a slip in it
	secret               // is a secret
	good                 // is of a published form, and may be kept
)

// finding is what a text, or a part of it, was found to be.
type finding struct {
	kind
	Reading
	err      error // what is wrong, where nothing may be taken of it alone
	rank     int   // how well the serial names the unit
	elements bool  // it is made of GS1 elements
}

// How well a serial names a unit.
const (
	rankEUI48 = 1 + iota
	rankEUI64
	rankGS1
)

// gs1Symbols are the symbology identifiers of GS1 element strings (GS1 General
// Specifications, section 5; ISO/IEC 15424).
var gs1Symbols = []string{"]C1", "]e0", "]d2", "]Q3", "]J1"}

// symbology takes a symbology identifier off the front.
func symbology(text string) (rest string, gs1 bool) {
	if len(text) < 3 || text[0] != ']' || text[1] > unicode.MaxASCII || !unicode.IsLetter(rune(text[1])) || !plainRune(rune(text[2])) {
		return text, false
	}
	return strings.TrimLeft(text[3:], " "), slices.Contains(gs1Symbols, text[:3])
}

// recognise reads a text that is one thing.
func recognise(text string) finding {
	text, gs1 := symbology(text)
	several := strings.ContainsFunc(text, parted) // then only what its parts can't say is looked for
	form, isSecret := secretIn(text)
	if isSecret && (form == FormInstallCode || !several && (!gs1 || form != FormMatterManual)) {
		return secretFinding(text, form)
	}
	if isURL(text) {
		elements, err := ParseLink(text)
		if err != nil {
			return finding{err: err}
		}
		return kept(FormLink, elements, false)
	}
	if gs1 || claimsGS1(text) {
		elements, err := ParseGS1(text)
		if err == nil && (gs1 || cleanFields(text)) {
			return kept(FormGS1, elements, gs1)
		}
		if err != nil && (gs1 || !errors.Is(err, errNotGS1)) && !slip(text) {
			return finding{err: err}
		}
	}
	switch {
	case !several && slip(text):
		return finding{kind: suspect, err: errSlip}
	case len(squeeze(text)) == shortest && allHex(squeeze(text)):
		if e, err := ParseEUI64(text); err == nil {
			return finding{kind: good, rank: rankEUI64, Reading: Reading{Form: FormEUI64, Serial: e.String(), EUI64: e.String(), Text: e.String()}}
		} else if !errors.Is(err, errNotEUI64) {
			return finding{kind: suspect, err: err}
		}
	case looksEUI48(text):
		e, err := ParseEUI48(text)
		if err == nil {
			return finding{kind: good, rank: rankEUI48, Reading: Reading{Form: FormEUI48, Serial: e.String(), Text: e.String()}}
		}
	}
	return plain(text)
}

// claimsGS1 says whether a text without a GS1 symbology identifier still looks
// like an element string.
func claimsGS1(text string) bool {
	return strings.HasPrefix(text, "(") || strings.HasPrefix(text, separator) ||
		len(text) >= 16 && text[:2] == "01" && allDigits(text[:16])
}

// cleanFields says whether no field of a text, after the first, could be a secret
// as a whole: then GS may part the things on a label, not GS1 elements.
func cleanFields(text string) bool {
	fields := strings.Split(text, separator)
	return !slices.ContainsFunc(fields[1:], func(field string) bool {
		_, isSecret := secretIn(field)
		return isSecret || slip(field)
	})
}

// secretFinding is what may be said of a secret.
func secretFinding(text string, form Form) finding {
	f := finding{kind: secret, Reading: Reading{Form: form, Secret: true}}
	switch form {
	case FormInstallCode:
		f.Notes = []string{"an install code was left out: it is a secret"}
		if len(squeeze(text)) == shortest {
			f.err = errAmbiguous
		}
	case FormMatterQR:
		f.Notes = []string{"a Matter code was left out: it is a secret"}
		if all, err := ParseMatterQR(text); err == nil && len(all) == 1 {
			f.Notes = []string{fmt.Sprintf("a Matter code (vendor %04X, product %04X) was left out: it is a secret", all[0].Vendor, all[0].Product)}
		}
	case FormMatterManual:
		f.Notes = []string{"a Matter setup code, or what may be one, was left out: it is a secret; if it is the serial, type it as the serial"}
	}
	return f
}

// reading is what Read gives for a finding.
func (f finding) reading() (Reading, error) {
	if f.err != nil {
		return Reading{}, f.err
	}
	if f.Serial == "" {
		f.Notes = append(f.Notes, "the label gives no serial that may be kept: type the one printed on it")
	}
	return f.Reading, nil
}
