package label_test

import (
	"encoding/hex"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events/label"
)

// Values from outside. Beside each stands where it is from, and how we have it.

func TestModifiedEUI64(t *testing.T) {
	for _, tt := range []struct{ name, eui48, want string }{
		// Computed from the rule; the address is of the range for documentation, RFC
		// 7042 section 2.1.2.
		{"RFC 4291 appendix A", "00-00-5E-00-53-01", "02005efffe005301"},
		// Value from memory.
		{"RFC 2464 section 4", "34-56-78-9A-BC-DE", "365678fffe9abcde"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			e, err := label.ParseEUI48(tt.eui48)
			require.NoError(t, err)
			require.Equal(t, tt.want, e.Modified().String())
		})
	}
}

func TestGTINCheckDigits(t *testing.T) {
	for _, tt := range []struct {
		name, digits string
		want         byte
	}{
		{"GS1 General Specifications, seen in the original", "730001100001", '7'},
		{"GS1 General Specifications, seen in the original", "890400021003", '7'},
		{"GS1 check digit calculator's example, value from memory", "629104150021", '3'},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := label.GTINCheckDigit(tt.digits)
			require.NoError(t, err)
			require.Equal(t, string(tt.want), string(got))
			gtin, err := label.ParseGTIN(tt.digits + string(tt.want))
			require.NoError(t, err)
			require.Equal(t, "0"+tt.digits+string(tt.want), gtin)
		})
	}
	short, err := label.ParseGTIN("96385074") // a GTIN-8 of secondary texts, value from memory
	require.NoError(t, err)
	require.Equal(t, "00000096385074", short)
}

// GS1 General Specifications: the elements of an example, seen in the original, in
// another order, so that a field of variable length stands before the last.
func TestGS1ElementString(t *testing.T) {
	want := []label.Element{{AI: "01", Value: "05412345000013"}, {AI: "10", Value: "ABC123"}, {AI: "22", Value: "AJY3095721P49"}}
	for _, text := range []string{
		"010541234500001310ABC123\x1d22AJY3095721P49",
		"(01)05412345000013(10)ABC123(22)AJY3095721P49",
		"(01) 05412345000013 (10) ABC123 (22) AJY3095721P49",
	} {
		got, err := label.ParseGS1(text)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
}

// GS1 Digital Link Standard, URI Syntax: the shape of its examples, with the GTIN
// that GS1 keeps for them; seen in secondary texts.
func TestDigitalLink(t *testing.T) {
	gtin := label.Element{AI: "01", Value: "09521234543213"}
	for _, tt := range []struct {
		name, uri string
		want      []label.Element
	}{
		{"a key", "https://id.gs1.org/01/09521234543213", []label.Element{gtin}},
		{"qualifiers", "https://id.gs1.org/01/09521234543213/10/ABC123/21/12345", []label.Element{gtin, {AI: "10", Value: "ABC123"}, {AI: "21", Value: "12345"}}},
		{"an attribute", "https://id.gs1.org/01/09521234543213/10/ABC123?17=261231", []label.Element{gtin, {AI: "10", Value: "ABC123"}, {AI: "17", Value: "261231"}}},
		{"SSCC", "https://id.gs1.org/00/106141411234567897", []label.Element{{AI: "00", Value: "106141411234567897"}}},
		{"a path of the brand's own", "https://example.com/products/01/09521234543213", []label.Element{gtin}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := label.ParseLink(tt.uri)
			require.NoError(t, err)
			require.Equal(t, tt.want, got)
		})
	}
}

// The check value of CRC-16/IBM-SDLC in the CRC catalogue; seen in
// secondary texts.
func TestCRCOfTheCatalogue(t *testing.T) {
	require.Equal(t, uint16(0x906e), label.CRC16([]byte("123456789")))
}

// The example of Zigbee Base Device Behavior; seen in secondary texts. Its hash,
// the key, is no business of ours.
func TestInstallCodeOfBaseDeviceBehavior(t *testing.T) {
	const code = "83FED3407A939723A5C639B26916D505"
	b, err := hex.DecodeString(code)
	require.NoError(t, err)
	require.Equal(t, uint16(0xb5c3), label.CRC16(b))
	require.True(t, label.IsInstallCode(code+"C3B5"))
	require.True(t, label.IsInstallCode("83fe d340-7a93:9723_a5c6 39b2 6916 d505 c3b5"))
	require.False(t, label.IsInstallCode(code+"B5C3"), "the low byte comes first")
	require.False(t, label.IsInstallCode(code))
}

// Matter Core Specification section 5.1, and its SDK's test device; seen in
// secondary texts, and computed independently from the bits of the specification.
func TestMatterQRCodes(t *testing.T) {
	for _, tt := range []struct {
		text     string
		want     label.Matter
		passcode uint32
	}{
		{"MT:Y.K9042C00KA0648G00", label.Matter{Vendor: 0xfff1, Product: 0x8000, Discriminator: 3840}, 20202021},
		{"MT:M5L90MP500K64J00000", label.Matter{Vendor: 12, Product: 1, Discriminator: 128}, 2048}, // seen in the SDK's tests
	} {
		t.Run(tt.text, func(t *testing.T) {
			got, err := label.ParseMatterQR(tt.text)
			require.NoError(t, err)
			require.Equal(t, []label.Matter{tt.want}, got)
			p, ok := label.PasscodeQR(strings.TrimPrefix(tt.text, "MT:"))
			require.True(t, ok)
			require.Equal(t, tt.passcode, p)
		})
	}
}

// The same device's manual code (seen in secondary texts, and computed), and a
// long one, which the SDK's tests give without its check digit.
func TestMatterManualCodes(t *testing.T) {
	got, err := label.ParseMatterManual("3497-011-2332")
	require.NoError(t, err)
	require.Equal(t, label.Matter{Discriminator: 3840, Short: true}, got)
	p, ok := label.PasscodeManual("34970112332")
	require.True(t, ok)
	require.Equal(t, uint32(20202021), p)

	fits := 0
	for check := range 10 {
		code := "52927623630456200032" + strconv.Itoa(check)
		if got, err := label.ParseMatterManual(code); err == nil {
			fits++
			require.Equal(t, label.Matter{Vendor: 4562, Product: 32, Discriminator: 1280, Short: true}, got)
			p, ok := label.PasscodeManual(code)
			require.True(t, ok)
			require.Equal(t, uint32(38728284), p)
		}
	}
	require.Equal(t, 1, fits)
}

// Base 38 of Matter, from the SDK's tests; seen there.
func TestBase38(t *testing.T) {
	for text, want := range map[string]string{
		"A0": "\x0a", "OT10": "\x0a\x0a", "-N.B0": "\x0a\x0a\x0a", "R6": "\xff", "NE71": "\xff\xff", "PLS18": "\xff\xff\xff",
		"KKHF3W2S013OPM3EJX11": "Hello World!", "": "",
	} {
		got, ok := label.Base38(text)
		require.True(t, ok, text)
		require.Equal(t, want, string(got), text)
	}
	for _, text := range []string{"S6", "OE71", "QLS18", "A", "AAA", "[0", "0[", " 0", "a0"} {
		_, ok := label.Base38(text)
		require.False(t, ok, text)
	}
}

// A passcode is none of those that Matter Core Specification section 5.1.7.1 rules
// out; value from memory.
func TestPasscodesThatMayBe(t *testing.T) {
	for _, n := range []uint32{0, 11111111, 22222222, 88888888, 99999999, 12345678, 87654321, 100000000} {
		require.False(t, label.MayPass(n), n)
	}
	for _, n := range []uint32{1, 20202021, 99999998, 12345679} {
		require.True(t, label.MayPass(n), n)
	}
}

// J. Verhoeff's check digit of 236 is 3; value from memory. It finds every single
// wrong digit and every two neighbours that have changed places.
func TestVerhoeff(t *testing.T) {
	require.True(t, label.Verhoeff("2363"))
	const code = "34970112332"
	require.True(t, label.Verhoeff(code))
	for i := range len(code) {
		for d := byte('0'); d <= '9'; d++ {
			require.Equal(t, d == code[i], label.Verhoeff(code[:i]+string(d)+code[i+1:]), "digit %d is %c", i+1, d)
		}
		if i > 0 && code[i] != code[i-1] {
			require.False(t, label.Verhoeff(code[:i-1]+code[i:i+1]+code[i-1:i]+code[i+1:]), "digits %d and %d", i, i+1)
		}
	}
	require.False(t, label.Verhoeff("3497011233x"))
}

// Check values of Code 128; seen in the original. Both begin in set A; the second
// goes over to set C (99) for its digits.
func TestCode128CheckValues(t *testing.T) {
	values, err := label.Code128Text("PJJ123C")
	require.NoError(t, err)
	got, err := label.Code128Check(label.StartA, values...)
	require.NoError(t, err)
	require.Equal(t, 54, got, "PJJ123C")

	got, err = label.Code128Check(label.StartA, 40, 41, 99, 34, 56, 78)
	require.NoError(t, err)
	require.Equal(t, 67, got, "HI345678")

	// Computed from the formula: the start value of set B is one more.
	got, err = label.Code128TextCheck("PJJ123C")
	require.NoError(t, err)
	require.Equal(t, 55, got)

	_, err = label.Code128TextCheck("tab\t")
	require.Error(t, err)
	_, err = label.Code128Check(102)
	require.Error(t, err)
	_, err = label.Code128Check(label.StartC, 103)
	require.Error(t, err)
}
