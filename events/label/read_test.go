package label_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events/label"
)

const (
	eui         = "02005efffe005301"
	installCode = "83FED3407A939723A5C639B26916D505C3B5"
	matterQR    = "MT:Y.K9042C00KA0648G00"
	manualCode  = "34970112332"
	gs1Text     = "(01)05412345000013(21)AJY3095721P49"
	gs1Scanned  = "010541234500001321AJY3095721P49"
)

// What is on a label, and what of it is kept: form, serial, GTIN, EUI-64, text.
func TestLabels(t *testing.T) {
	const gtin = "05412345000013"
	for _, tt := range []struct {
		name, text string
		want       label.Reading
	}{
		{"a plain serial", "SN-0042", label.Reading{Form: label.FormPlain, Serial: "SN-0042", Text: "SN-0042"}},
		{"space at its ends", " \ufeff\r\nSN-0042\n", label.Reading{}},
		{"a byte order mark", "\ufeff SN-0042 \r\n", label.Reading{Form: label.FormPlain, Serial: "SN-0042", Text: "SN-0042"}},
		{"spaces inside", "SN  00\t42", label.Reading{Form: label.FormPlain, Serial: "SN 00 42", Text: "SN 00 42"}},
		{"letters of both kinds and dividers", "S/N 4_a.B-7", label.Reading{Form: label.FormPlain, Serial: "S/N 4_a.B-7", Text: "S/N 4_a.B-7"}},
		{"24 characters", "ABCDEFGHIJKL-MNOPQRSTUV1", label.Reading{Form: label.FormPlain, Serial: "ABCDEFGHIJKL-MNOPQRSTUV1", Text: "ABCDEFGHIJKL-MNOPQRSTUV1"}},
		{"20 in a row", "ABCDEFGHIJKLMNOPQRS1", label.Reading{Form: label.FormPlain, Serial: "ABCDEFGHIJKLMNOPQRS1", Text: "ABCDEFGHIJKLMNOPQRS1"}},
		{"a symbology identifier", "]C0SN-0042", label.Reading{Form: label.FormPlain, Serial: "SN-0042", Text: "SN-0042"}},
		{"11 digits that are no setup code", "34970112333", label.Reading{Form: label.FormPlain, Serial: "34970112333", Text: "34970112333"}},
		{"letters before 11 digits that can't be one", "SN99999999994", label.Reading{Form: label.FormPlain, Serial: "SN99999999994", Text: "SN99999999994"}},
		{"19 characters that hold no passcode", "0000000000000000000", label.Reading{Form: label.FormPlain, Serial: "0000000000000000000", Text: "0000000000000000000"}},
		{"a separator at the end", "SN-0042;", label.Reading{Form: label.FormPlain, Serial: "SN-0042", Text: "SN-0042"}},

		{"EUI-64", "02005EFFFE005301", label.Reading{Form: label.FormEUI64, Serial: eui, EUI64: eui, Text: eui}},
		{"EUI-64 with -", "02-00-5E-FF-FE-00-53-01", label.Reading{Form: label.FormEUI64, Serial: eui, EUI64: eui, Text: eui}},
		{"EUI-64 with :", "]Q102:00:5e:ff:fe:00:53:01", label.Reading{Form: label.FormEUI64, Serial: eui, EUI64: eui, Text: eui}},
		{"EUI-64 in fours", "0200:5eff:fe00:5301", label.Reading{Form: label.FormEUI64, Serial: eui, EUI64: eui, Text: eui}},
		{"EUI-64 with spaces", "0200 5EFF FE00 5301", label.Reading{Form: label.FormEUI64, Serial: eui, EUI64: eui, Text: eui}},
		{"EUI-64 in other groups is plain", "02005EFF-FE005301", label.Reading{Form: label.FormPlain, Serial: "02005EFF-FE005301", Text: "02005EFF-FE005301"}},
		{"EUI-48", "00-00-5E-00-53-01", label.Reading{Form: label.FormEUI48, Serial: "00005e005301", Text: "00005e005301"}},
		{"EUI-48 undivided", "00005E005301", label.Reading{Form: label.FormEUI48, Serial: "00005e005301", Text: "00005e005301"}},
		{"12 digits are no EUI-48", "000050005301", label.Reading{Form: label.FormPlain, Serial: "000050005301", Text: "000050005301"}},

		{"GS1 as printed", gs1Text, label.Reading{Form: label.FormGS1, Serial: "AJY3095721P49", GTIN: gtin, Text: gs1Text}},
		{"GS1 as scanned", gs1Scanned, label.Reading{Form: label.FormGS1, Serial: "AJY3095721P49", GTIN: gtin, Text: gs1Text}},
		{"GS1 in Code 128", "]C1" + gs1Scanned, label.Reading{Form: label.FormGS1, Serial: "AJY3095721P49", GTIN: gtin, Text: gs1Text}},
		{"GS1 in Data Matrix", "]d221AJY3095721P49\x1d01" + gtin, label.Reading{Form: label.FormGS1, Serial: "AJY3095721P49", GTIN: gtin, Text: "(21)AJY3095721P49(01)" + gtin}},
		{"GS1 in QR", "]Q3" + gs1Scanned + "\x1d", label.Reading{Form: label.FormGS1, Serial: "AJY3095721P49", GTIN: gtin, Text: gs1Text}},
		{"GS1 after FNC1", "\x1d" + gs1Scanned, label.Reading{Form: label.FormGS1, Serial: "AJY3095721P49", GTIN: gtin, Text: gs1Text}},
		{"GS1 after FNC1, its serial first", "\x1d21AJY3095721P49\x1d10A", label.Reading{Form: label.FormGS1, Serial: "AJY3095721P49", Text: "(21)AJY3095721P49(10)A"}},
		{"GS1 and a date", gs1Scanned + "\x1d11260200", label.Reading{Form: label.FormGS1, Serial: "AJY3095721P49", GTIN: gtin, Text: gs1Text + "(11)260200"}},
		{"a short serial that makes 20 hex digits", "01" + gtin + "21AB", label.Reading{Form: label.FormGS1, Serial: "AB", GTIN: gtin, Text: "(01)" + gtin + "(21)AB"}},
		{"a serial with a comma", "]d221AB,CD", label.Reading{Form: label.FormGS1, Serial: "AB,CD", Text: "(21)AB,CD"}},
		{"a serial with brackets", "(21)A(7)B", label.Reading{Form: label.FormGS1, Serial: "A(7)B", Text: "(21)A(7)B"}},
		{"a serial that is no setup code, as (21) says so", "(21)" + manualCode, label.Reading{Form: label.FormGS1, Serial: manualCode, Text: "(21)" + manualCode}},
		{"also when scanned", "]d201" + gtin + "10A\x1d21" + "970112338", label.Reading{Form: label.FormGS1, Serial: "970112338", GTIN: gtin, Text: "(01)" + gtin + "(10)A(21)970112338"}},
		{"a serial alone", "]C121970112338", label.Reading{Form: label.FormGS1, Serial: "970112338", Text: "(21)970112338"}},
		{"21 digits that fit, but not as a setup code", "010541234500001321123", label.Reading{Form: label.FormGS1, Serial: "123", GTIN: gtin, Text: "(01)" + gtin + "(21)123"}},
		{"an asset", "(8004)5412345AB7", label.Reading{Form: label.FormGS1, Serial: "5412345AB7", Text: "(8004)5412345AB7"}},
		{"a returnable asset", "(8003)" + gtin + "X7", label.Reading{Form: label.FormGS1, Serial: gtin + "X7", Text: "(8003)" + gtin + "X7"}},
		{"a piece", "(8006)" + gtin + "0102(21)7", label.Reading{Form: label.FormGS1, Serial: "7", GTIN: gtin, Text: "(8006)" + gtin + "0102(21)7"}},
		{"twice the same", gs1Text + "\n" + gs1Text, label.Reading{Form: label.FormGS1, Serial: "AJY3095721P49", GTIN: gtin, Text: gs1Text}},

		{"Digital Link", "HTTPS://ANY.EXAMPLE/a/b/01/" + gtin + "/21/AB%2F12?linkType=all", label.Reading{Form: label.FormLink, Serial: "AB/12", GTIN: gtin, Text: "(01)" + gtin + "(21)AB/12"}},
		{"Digital Link with all qualifiers", "http://any.example/01/" + gtin + "/22/V/10/B/21/S?11=260201;240=P+1", label.Reading{Form: label.FormLink, Serial: "S", GTIN: gtin, Text: "(01)" + gtin + "(22)V(10)B(21)S(11)260201(240)P+1"}},
		{"Digital Link with what is no value", "https://any.example/01/" + gtin + "/21/7?11=261301&30=x&22", label.Reading{Form: label.FormLink, Serial: "7", GTIN: gtin, Text: "(01)" + gtin + "(21)7"}},
		{"Digital Link by short names", "https://any.example/gtin/5412345000013/ser/7", label.Reading{Form: label.FormLink, Serial: "7", GTIN: gtin, Text: "(01)" + gtin + "(21)7"}},
		{"Digital Link of an asset", "https://any.example/8004/5412345AB7", label.Reading{Form: label.FormLink, Serial: "5412345AB7", Text: "(8004)5412345AB7"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := label.Read(tt.text)
			if tt.want.Form == "" {
				require.Error(t, err)
				return
			}
			require.NoError(t, err)
			require.Equal(t, tt.want, got)
		})
	}
}

// What Read says of labels besides their serial.
func TestNotes(t *testing.T) {
	for _, tt := range []struct {
		name, text, serial, kept string
		secret                   bool
		notes                    []string
	}{
		{"a batch is no serial", "(01)05412345000013(10)AB", "", "(01)05412345000013(10)AB", false, []string{"type the one printed"}},
		{"an asset's kind is no serial", "(8003)05412345000013", "", "(8003)05412345000013", false, []string{"type the one printed"}},
		{"a parcel", "(00)106141411234567897", "", "(00)106141411234567897", false, []string{"type the one printed"}},
		{"the company's own", gs1Text + "(91)X(8200)x(91)X", "AJY3095721P49", gs1Text, false, []string{"not known what it holds: (8200) (91)"}},
		{"what looks like a query", "(21)A(240)k=1&p", "A", "(21)A", false, []string{"(240)"}},
		{"a product's number", "5412345000013", "5412345000013", "5412345000013", false, []string{"may be a product's number"}},
		{"a Matter code", matterQR, "", "", true, []string{"a Matter code (vendor FFF1, product 8000) was left out", "type the one printed"}},
		{"a Matter code in lower case", strings.ToLower(matterQR), "", "", true, []string{"a Matter code was left out", ""}},
		{"a Matter code without MT:", matterQR[3:], "", "", true, []string{"a Matter code was left out", ""}},
		{"in lower case, and not whole", "mt:y.k90", "", "", true, []string{"a Matter code was left out", ""}},
		{"in lower case without mt:", strings.ToLower(matterQR[3:]), "", "", true, []string{"a Matter code was left out", ""}},
		{"a Matter code behind text", "x" + matterQR, "", "", true, []string{"a Matter code was left out", ""}},
		{"no Matter code at all", "MT:ABC", "", "", true, []string{"a Matter code was left out", ""}},
		{"two Matter codes", matterQR + "*" + matterQR[3:], "", "", true, []string{"a Matter code was left out", ""}},
		{"a setup code", manualCode, "", "", true, []string{"if it is the serial, type it as the serial", ""}},
		{"a long setup code", "529276236304562000322", "", "", true, []string{"if it is the serial", ""}},
		{"a long setup code beside an EUI-64", eui + " 5292 7623 6304 5620 0032 2", eui, eui, true, []string{"if it is the serial"}},
		{"a setup code as printed", "3497-011-2332", "", "", true, []string{"if it is the serial", ""}},
		{"a setup code in groups", "3497 011 2332", "", "", true, []string{"if it is the serial", ""}},
		{"a setup code beside other digits", "7 3497 011 2332", "", "", true, []string{"if it is the serial", "other text", "type the one printed"}},
		{"an install code", installCode, "", "", true, []string{"an install code was left out", ""}},
		{"an install code in halves", "83FED3407A939723 A5C639B26916D505 C3B5", "", "", true, []string{"an install code", ""}},
		{"an install code over lines", "IC\n83FED3407A939723A5C6\n39B26916D505C3B5", "", "", true, []string{"an install code", "other text", ""}},

		{"EUI-64 and Matter", eui + " " + matterQR, eui, eui, true, []string{"a Matter code (vendor FFF1"}},
		{"Matter and EUI-64", matterQR + ";" + eui, eui, eui, true, []string{"a Matter code"}},
		{"EUI-64 and install code", eui + "|" + installCode, eui, eui, true, []string{"an install code"}},
		{"EUI-64 and an install code with a slip", eui + "," + installCode[:35] + "6", eui, eui, true, []string{"may be a secret"}},
		{"EUI-64 and such a one in groups", eui + " 83FED340 7A939723 A5C639B2 6916D505 C3B6", eui, eui, true, []string{"may be a secret"}},
		{"EUI-64 and such a one that begins like GS1", eui + " 01100000000000000000000000000000B921", eui, eui, true, []string{"may be a secret"}},
		{"what may be an install code, digits, and EUI-64", "82FED3407A930074 1234 " + eui, eui, eui, true, []string{"an install code", "may be a secret"}},
		{"EUI-64 and a GS1 element that may be a secret", "(21)A(10)" + manualCode + " " + eui, "A", "(21)A " + eui, true, []string{"(10) may be a secret"}},
		{"a field that may be an install code with a slip", "010541234500001310A\x1d21000102030405060708", "", "(01)05412345000013(10)A", true, []string{"may be a secret", ""}},
		{"EUI-64 and a setup code", eui + "\x1d" + manualCode, eui, eui, true, []string{"if it is the serial"}},
		{"EUI-64 and a serial", eui + " 1234", eui, eui, false, []string{"other text"}},
		{"EUI-64, EUI-48 and a serial", eui + " 00005e005301 12345678", eui, eui + " 00005e005301", false, []string{"other text"}},
		{"EUI-48 and EUI-64", "00-00-5E-00-53-01\n" + eui, eui, "00005e005301 " + eui, false, nil},
		{"EUI-48 and plain", "00-00-5E-00-53-01 rev2", "00005e005301", "00005e005301", false, []string{"other text"}},
		{"EUI-64 and GS1", eui + "\n" + gs1Text, "AJY3095721P49", eui + " " + gs1Text, false, nil},
		{"GS1 and EUI-64", gs1Text + "\n" + eui, "AJY3095721P49", gs1Text + " " + eui, false, nil},
		{"GS1 in two parts, and a setup code", "(01)05412345000013 (21)AJY " + manualCode, "AJY", "(01)05412345000013 (21)AJY", true, []string{"if it is the serial"}},
		{"GS1 and a setup code", "010541234500001310A\x1d" + manualCode, "", "(01)05412345000013(10)A", true, []string{"if it is the serial", ""}},
		{"that could be a batch", "010541234500001310A\x1d10970112337", "", "(01)05412345000013(10)A", true, []string{"if it is the serial", ""}},
		{"a setup code in a batch", "(21)A(10)" + manualCode, "A", "(21)A", true, []string{"(10) may be a secret"}},
		{"a setup code in a serial", "]Q321A;" + manualCode, "", "", true, []string{"(21) may be a secret", ""}},
		{"a setup code after a serial", "(21)A;" + manualCode, "A", "(21)A", true, []string{"if it is the serial"}},
		{"an install code's slip in a serial", "]Q3240A," + installCode[:20], "", "", true, []string{"(240) may be a secret", ""}},
		{"a Matter code in a part number", "(21)A(240)" + matterQR, "", "", true, []string{"a Matter code", ""}},
		{"a Matter code in a query", "https://any.example/01/05412345000013/21/7?240=MT:%59" + matterQR[4:], "7", "(01)05412345000013(21)7", true, []string{"(240) may be a secret"}},
		{"a serial that could be a setup code with its (21)", "010541234500001310A\x1d21970112338", "", "(01)05412345000013(10)A", true, []string{"if it is the serial", ""}},
		{"EUI-64 and what may be an install code", eui + " 82FED3407A930074", eui, eui, true, []string{"an install code"}},
		{"a Digital Link beside a Matter code", "https://any.example/01/05412345000013/21/7 " + matterQR, "7", "(01)05412345000013(21)7", true, []string{"a Matter code"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := label.Read(tt.text)
			require.NoError(t, err)
			require.Equal(t, tt.serial, got.Serial)
			require.Equal(t, tt.kept, got.Text)
			require.Equal(t, tt.secret, got.Secret)
			require.Len(t, got.Notes, len(tt.notes), got.Notes)
			for i, words := range tt.notes {
				require.Contains(t, got.Notes[i], words)
			}
		})
	}
}

// What is kept of a label is no longer than the log takes.
func TestLongLabels(t *testing.T) {
	var text string
	for _, ai := range []string{"10", "21", "22", "8012", "8013"} {
		text += "(" + ai + ")" + strings.Repeat("A", 20)
	}
	for _, ai := range []string{"240", "241", "250", "8004"} {
		text += "(" + ai + ")" + strings.Repeat("A", 30)
	}
	text = "(01)05412345000013" + text + "(8003)05412345000013" + strings.Repeat("A", 16) + "(00)106141411234567897(8006)054123450000130102(20)01(11)260101(13)260101(17)260101"
	r, err := label.Read(text)
	require.NoError(t, err)
	require.LessOrEqual(t, len(r.Text), 400)
	require.Greater(t, len(r.Text), 360)
	require.Contains(t, r.Notes[0], "left out")
	require.True(t, strings.HasPrefix(r.Text, "(01)05412345000013(10)A"))

	var many []string
	for i := range 30 {
		many = append(many, fmt.Sprintf("(10)B%d(240)LONG-PRODUCT-NAME", i))
	}
	r, err = label.Read(strings.Join(many, " "))
	require.NoError(t, err)
	require.LessOrEqual(t, len(r.Text), 400)
	require.Greater(t, len(r.Text), 360)
}

// What is refused, and in which words.
func TestRefused(t *testing.T) {
	for _, tt := range []struct{ name, text, words string }{
		{"nothing", " \r\n", "the label is empty"},
		{"too much", strings.Repeat("1", 1001), "longer than 1000 bytes"},
		{"another encoding", "B\xfcro 1", "not UTF-8"},
		{"control characters", "SN\x00-1", "control characters"},
		{"a group's address", "03005efffe005301", "a group's"},
		{"a group's EUI-48 is no plain serial either", "01:00:5e:00:00:01", "more than a plain serial"},
		{"no address", "0000000000000000", "all zeros"},
		{"an address that may be an install code", "82FED3407A930074", "or an install code"},
		{"two units", eui + " 02005efffe005302", "two units"},
		{"two serials", "(01)05412345000013(21)A (21)B", "two units"},
		{"two products", "(01)05412345000013 (01)09521234543213", "two products"},
		{"(21) twice", "(21)A(21)B", "(21) is there twice"},
		{"a check digit", "(01)05412345000014(21)A", "(01) has a check digit that does not fit"},
		{"a check digit, as scanned", "010541234500001421A", "(01) has a check digit"},
		{"a check digit of an asset", "(8003)05412345000014X", "(8003) has a check digit"},
		{"a serial that is too long", "]C121ABCDEFGHIJKLMNOPQRSTU", "(21) is too long"},
		{"an empty serial", "(01)05412345000013(21)", "(21) is empty"},
		{"a date", "(21)A(11)261301", "(11) is no date"},
		{"another date", "(21)A(11)260230", "(11) is no date"},
		{"a letter in a GTIN", "]C101A5412345000013", "(01) must be digits"},
		{"a short GTIN", "(01)5412345000013", "(01) is too short"},
		{"a character that GS1 lacks", "(21)A$B", "(21) has a character"},
		{"no GS1 after its symbology", "]C1ABC", "not a GS1 element string"},
		{"a web address", "https://maker.example/pair?key=12", "no GS1 Digital Link"},
		{"a Digital Link with a wrong GTIN", "https://any.example/01/05412345000014/21/7", "no GS1 Digital Link"},
		{"qualifiers out of order", "https://any.example/01/05412345000013/21/7/10/B", "no GS1 Digital Link"},
		{"a user in it", "https://me:pw@any.example/01/05412345000013/21/7", "no GS1 Digital Link"},
		{"a serial in the path and another in the query", "https://any.example/01/05412345000013/21/7?21=8", "no GS1 Digital Link"},
		{"bad percent signs", "https://any.example/01/05412345000013/21/%zz", "no GS1 Digital Link"},
		{"a web address without a scheme", "any.example/a/1", "more than a plain serial"},
		{"www", "www.any1.example", "more than a plain serial"},
		{"a maker's own concatenation", "Z:02005efffe005301$I:" + installCode, "more than a plain serial"},
		{"names and values", "s=1&k=2", "more than a plain serial"},
		{"braces", `{"s":1}`, "more than a plain serial"},
		{"other letters", "Ä-12", "more than a plain serial"},
		{"wide digits", "SN１２", "more than a plain serial"},
		{"a hyphen at the end", "SN-1-", "more than a plain serial"},
		{"a dot at the front", ".SN1", "more than a plain serial"},
		{"25 characters", "ABCDEFGHIJKL-MNOPQRSTUVW1", "too long"},
		{"21 in a row", "ABCDEFGHIJKLMNOPQRST1", "too long"},
		{"a key in hex", "5A6967426565416C6C69616E63653039", "too long"},
		{"no digit", "serial", "no number"},
		{"a word that tells", "PIN 20202021", "speaks of a code"},
		{"a word that tells, glued", "key-12", "speaks of a code"},
		{"an install code with a slip", installCode[:35] + "6", "with a slip in it"},
		{"a short one", "0102030405060708FFFF", "with a slip in it"},
		{"12 bytes", "0102030405060708090A0B0CFFFF", "with a slip in it"},
		{"one in groups", "83FE-D340-7A93-9723-A5C7", "with a slip in it"},
		{"one in halves", "83FED3407A939723 A5C639B26916D505 C3B6", "with a slip in it"},
		{"21 digits", "529276236304562000320", "with a slip in it"},
		{"a printed setup code with a slip", "3497-011-2333", "with a slip in it"},
		{"such a one with spaces", "3497 011 2333", "with a slip in it"},
		{"letters before an install code", "IC83FED3407A932B70", "more than a plain serial"},
		{"letters before a setup code", "SN" + manualCode, "more than a plain serial"},
		{"two things", "SN-1\nSN-2", "several things"},
		{"a serial with a comma that may part it from another", "(21)AB,CD", "belongs to a serial"},
		{"such a one in a Digital Link", "https://any.example/01/05412345000013/21/AB;CD", "belongs to a serial"},
		{"with a space after", "(21)AB,CD rev 2", "belongs to a serial"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := label.Read(tt.text)
			require.ErrorContains(t, err, tt.words)
			require.Zero(t, got)
		})
	}
}

// Only what is a secret for certain is refused where somebody types a serial.
func TestIsSecret(t *testing.T) {
	for text, want := range map[string]bool{
		installCode: true, matterQR: true, manualCode: false, eui: false, "82FED3407A930074": false, "SN-1": false,
	} {
		require.Equal(t, want, label.IsSecret(text), text)
	}
}
