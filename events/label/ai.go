package label

import (
	"slices"
	"strings"
)

// shape is what the value of a GS1 Application Identifier looks like.
type shape struct {
	digits int  // so many digits first
	more   int  // then up to so many characters
	number bool // which are digits too
	check  int  // so many of the first digits end in their check digit
	date   bool // YYMMDD
	keep   bool // it names the unit or its make, in a way that may be kept
}

// shapes are the identifiers that are known, of the GS1 General Specifications,
// section 3.2, as of release 23. The measures 31 to 36 and the internal ones 91
// to 99 are in shapeOf. What is not to be kept is listed all the same, since an
// element string can't be cut without knowing all its parts.
var shapes = map[string]shape{
	"00":   {digits: 18, check: 18, keep: true}, // SSCC
	"01":   {digits: 14, check: 14, keep: true}, // GTIN
	"02":   {digits: 14, check: 14},
	"10":   {more: 20, keep: true},              // batch
	"11":   {digits: 6, date: true, keep: true}, // production date
	"12":   {digits: 6, date: true},
	"13":   {digits: 6, date: true, keep: true}, // packaging date
	"15":   {digits: 6, date: true},
	"16":   {digits: 6, date: true},
	"17":   {digits: 6, date: true, keep: true}, // expiry date
	"20":   {digits: 2, keep: true},             // variant
	"21":   {more: 20, keep: true},              // serial
	"22":   {more: 20, keep: true},              // consumer product variant
	"235":  {more: 28},
	"240":  {more: 30, keep: true}, // the maker's product number
	"241":  {more: 30, keep: true}, // the customer's part number
	"242":  {more: 6, number: true},
	"243":  {more: 20},
	"250":  {more: 30, keep: true}, // secondary serial
	"251":  {more: 30},
	"253":  {digits: 13, more: 17, check: 13},
	"254":  {more: 20},
	"255":  {digits: 13, more: 12, number: true, check: 13},
	"30":   {more: 8, number: true},
	"37":   {more: 8, number: true},
	"400":  {more: 30},
	"401":  {more: 30},
	"402":  {digits: 17, check: 17},
	"403":  {more: 30},
	"410":  {digits: 13, check: 13},
	"411":  {digits: 13, check: 13},
	"412":  {digits: 13, check: 13},
	"413":  {digits: 13, check: 13},
	"414":  {digits: 13, check: 13},
	"415":  {digits: 13, check: 13},
	"416":  {digits: 13, check: 13},
	"417":  {digits: 13, check: 13},
	"420":  {more: 20},
	"421":  {digits: 3, more: 9},
	"422":  {digits: 3},
	"7240": {more: 20},
	"8001": {digits: 14},
	"8002": {more: 20},
	"8003": {digits: 14, more: 16, check: 14, keep: true}, // returnable asset
	"8004": {more: 30, keep: true},                        // individual asset
	"8005": {digits: 6},
	"8006": {digits: 18, check: 14, keep: true}, // piece of a trade item
	"8008": {digits: 8, more: 4, number: true},
	"8009": {more: 50},
	"8010": {more: 30},
	"8011": {more: 12, number: true},
	"8012": {more: 20, keep: true}, // software version
	"8013": {more: 25, keep: true}, // model
	"8017": {digits: 18, check: 18},
	"8018": {digits: 18, check: 18},
	"8019": {more: 10, number: true},
	"8020": {more: 25},
	"8200": {more: 70},
	"90":   {more: 30},
}

// shapeOf finds the shape of an identifier.
func shapeOf(ai string) (shape, bool) {
	if s, ok := shapes[ai]; ok {
		return s, true
	}
	switch {
	case !allDigits(ai):
	case len(ai) == 2 && ai > "90":
		return shape{more: 90}, true
	case len(ai) == 4 && ai >= "3100" && ai < "3700" && ai[3] <= '5':
		return shape{digits: 6}, true
	}
	return shape{}, false
}

// identifier finds the identifier that a text begins with: none is the beginning
// of another.
func identifier(text string) (ai string, s shape, ok bool) {
	for n := 2; n <= min(4, len(text)); n++ {
		if s, ok := shapeOf(text[:n]); ok {
			return text[:n], s, true
		}
	}
	return "", shape{}, false
}

// cset82 is what may stand in a value besides letters and digits (GS1 General
// Specifications, figure 7.11-1).
const cset82 = `!"%&'()*+,-./:;<=>?_`

// wrong says what keeps a value from having this shape, "" for nothing.
func (s shape) wrong(value string) string {
	switch head, more := value[:min(s.digits, len(value))], value[min(s.digits, len(value)):]; {
	case value == "":
		return "is empty"
	case len(head) < s.digits:
		return "is too short"
	case len(more) > s.more:
		return "is too long"
	case s.digits > 0 && !allDigits(head), s.number && more != "" && !allDigits(more):
		return "must be digits"
	case strings.ContainsFunc(more, func(r rune) bool { return !plainRune(r) && !strings.ContainsRune(cset82, r) }):
		return "has a character that GS1 does not allow there"
	case s.check > 0 && !checked(value[:s.check]):
		return "has a check digit that does not fit"
	case s.date && !isDate(value):
		return "is no date"
	}
	return ""
}

// isDate says whether six digits are year, month and day; day 00 leaves it open.
func isDate(value string) bool {
	month, day := number(value[2:4]), number(value[4:6])
	long := []uint32{31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}
	return month >= 1 && month <= 12 && day <= long[month-1]
}

// qualifiers are what may follow a key in the path of a Digital Link, in this
// order (GS1 Digital Link Standard: URI Syntax, section 4).
var qualifiers = map[string][]string{
	"00": {}, "01": {"22", "10", "21"}, "8003": {}, "8004": {}, "8006": {"22", "10", "21"}, "8013": {},
}

// shortNames are what version 1.0 and 1.1 of that standard also called them.
var shortNames = map[string]string{
	"sscc": "00", "gtin": "01", "lot": "10", "ser": "21", "cpv": "22",
	"grai": "8003", "giai": "8004", "itip": "8006", "gmn": "8013",
}

// qualifies says whether the identifiers follow the key in the right order.
func qualifies(key string, follow []string) bool {
	allowed, ok := qualifiers[key]
	for _, ai := range follow {
		i := slices.Index(allowed, ai)
		if i < 0 {
			return false
		}
		allowed = allowed[i+1:]
	}
	return ok
}
