package label_test

import (
	"encoding/hex"
	"fmt"
	"math/bits"
	"slices"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events/label"
)

// Whatever a label says, what Read gives is fit to be stored, and an error says
// nothing of it.
func FuzzRead(f *testing.F) {
	for _, s := range []string{
		"SN-0042", "SN 0042", eui, "02-00-5E-FF-FE-00-53-01", "00:00:5e:00:53:01", gs1Text, gs1Scanned, "]d2" + gs1Scanned + "\x1d10A",
		installCode, matterQR, manualCode, "3497-011-2332", eui + " " + matterQR, gs1Text + ";" + installCode,
		"https://any.example/01/05412345000013/21/A%2F7?17=260200&x=1", "PIN 12345678", "(21)A,B;C(10)D", "a|b\x1dc,d;e\nf", "]", "MT:", "0x", "\ufeff", ",", ";;|",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := label.Read(text)
		if err != nil {
			require.Zero(t, r)
			require.Empty(t, leaked(text, err.Error(), ""))
			return
		}
		require.NotEmpty(t, r.Form)
		require.LessOrEqual(t, len(r.Serial), 64)
		require.LessOrEqual(t, len(r.Text), 400)
		for _, s := range []string{r.Serial, r.Text, r.GTIN, r.EUI64} {
			require.False(t, strings.ContainsFunc(s, func(c rune) bool { return c < ' ' || c > unicode.MaxASCII-1 }), "%q", s)
			require.Equal(t, strings.TrimSpace(s), s)
		}
		for _, part := range append(strings.Fields(r.Text), r.Serial, r.Text) {
			require.False(t, label.IsSecret(part) || label.IsInstallCode(part), part)
		}
		if r.Serial == "" {
			require.NotEmpty(t, r.Notes, "somebody must be told what to do")
		}
		switch r.Form {
		case label.FormPlain, label.FormEUI64, label.FormEUI48:
			again, err := label.Read(r.Serial)
			require.NoError(t, err)
			require.Equal(t, r.Serial, again.Serial)
			require.False(t, again.Secret)
		case label.FormInstallCode, label.FormMatterQR, label.FormMatterManual:
			require.Equal(t, label.Reading{Form: r.Form, Secret: true, Notes: r.Notes}, r)
		}
	})
}

// leaked finds six letters or digits of a secret, a digit among them, that stand
// together in a text too, and not in what may be kept.
func leaked(secret, text, kept string) string {
	secret, text, kept = bare(secret), bare(text), bare(kept)
	for i := range max(0, len(secret)-5) {
		if w := secret[i : i+6]; strings.ContainsAny(w, "0123456789") && strings.Contains(text, w) && !strings.Contains(kept, w) {
			return w
		}
	}
	return ""
}

// bare is the letters and digits of a text alone.
func bare(text string) string {
	return strings.ToUpper(strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, text))
}

// said is everything that comes out of Read, each thing apart.
func said(r label.Reading, err error) []string {
	return slices.Concat([]string{r.Serial, r.GTIN, r.EUI64, string(r.Form), fmt.Sprint(err)}, strings.Fields(r.Text+" "+strings.Join(r.Notes, " ")))
}

// Secrets of every form, alone and among other things, in every order and cut in
// groups: none comes out, and what stands beside them and may be kept does.
func TestNoSecretComesOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		secret := rapid.OneOf(installCodes(true), installCodes(false), manualCodes(), qrCodes()).Draw(t, "secret")
		kept, serial := keepers(t)
		parts := append([]string{secret}, kept...)
		if rapid.Bool().Draw(t, "more") {
			parts = append(parts, rapid.SampledFrom([]string{"SN-0042", "rev 2", "Made somewhere", "s=1", "7"}).Draw(t, "junk"))
		}
		parts = rapid.Permutation(parts).Draw(t, "order")
		text := strings.Join(parts, rapid.SampledFrom([]string{" ", "\n", ";", ",", "|", "\x1d", " ; ", "\t", "\r\n"}).Draw(t, "by"))

		r, err := label.Read(text)
		for _, s := range said(r, err) {
			require.Empty(t, leaked(secret, s, strings.Join(kept, " ")), "of %q", text)
		}
		if serial == "" {
			require.Empty(t, r.Serial, text)
			require.Empty(t, r.Text, text)
			return
		}
		if err == nil && r.Serial != "" {
			require.Equal(t, serial, r.Serial, text)
			require.True(t, r.Secret, text)
		}
	})
}

// Beside a secret that is in one piece, what may be kept is always kept.
func TestWhatStandsBesideASecret(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		secret := rapid.OneOf(rapid.Just(installCode), rapid.Just(installCode[:35]+"6"), qrCodes()).Draw(t, "secret")
		e := euis().Draw(t, "eui")
		parts := rapid.Permutation([]string{secret, e}).Draw(t, "order")
		by := rapid.SampledFrom([]string{" ", "\n", ";", ",", "|", "\x1d"}).Draw(t, "by")
		r, err := label.Read(strings.Join(parts, by))
		require.NoError(t, err)
		require.Equal(t, e, r.Serial)
		require.Equal(t, e, r.Text)
		require.True(t, r.Secret)
	})
}

// keepers draws what may be kept, and the serial that Read should give for it.
func keepers(t *rapid.T) (kept []string, serial string) {
	switch rapid.IntRange(0, 3).Draw(t, "keepers") {
	case 1:
		e := euis().Draw(t, "eui")
		return []string{e}, e
	case 2:
		return []string{gs1Text}, "AJY3095721P49"
	case 3:
		return []string{gs1Scanned, "00-00-5E-00-53-01"}, "AJY3095721P49"
	}
	return nil, ""
}

// euis draws an EUI-64 that can't be an install code.
func euis() *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		b := rapid.SliceOfN(rapid.Byte(), 8, 8).Draw(t, "eui")
		b[0] = b[0]&^1 | 2
		return hex.EncodeToString(b)
	}).Filter(func(s string) bool { return !label.IsInstallCode(s) })
}

// installCodes draws an install code as it may be printed: right, or longer than
// an EUI-64 and with one digit wrong.
func installCodes(right bool) *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		n := rapid.SampledFrom([]int{6, 8, 12, 16}).Filter(func(n int) bool { return right || n > 6 }).Draw(t, "bytes")
		b := rapid.SliceOfN(rapid.Byte(), n, n).Draw(t, "code")
		crc := label.CRC16(b)
		text := strings.ToUpper(hex.EncodeToString(append(b, byte(crc), byte(crc>>8))))
		if !right {
			i := rapid.IntRange(0, len(text)-1).Draw(t, "at")
			wrong := rapid.SampledFrom(strings.Split("0123456789ABCDEF", "")).Filter(func(d string) bool { return d != text[i:i+1] }).Draw(t, "wrong")
			text = text[:i] + wrong + text[i+1:]
		}
		if rapid.Bool().Draw(t, "lower") {
			text = strings.ToLower(text)
		}
		groups := []int{2, 4, 8, 36}
		if right || len(text) == 36 {
			groups = append(groups, 16)
		}
		return inGroups(t, text, groups)
	})
}

// manualCodes draws a Matter setup code as it may be printed.
func manualCodes() *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		passcode := rapid.Uint32Range(1, 99999998).Draw(t, "passcode")
		disc := rapid.Uint32Range(0, 15).Draw(t, "discriminator")
		long := rapid.Uint32Range(0, 1).Draw(t, "long")
		text := fmt.Sprintf("%d%05d%04d", long<<2|disc>>2, disc&3<<14|passcode&0x3fff, passcode>>14)
		if long == 1 {
			text += fmt.Sprintf("%05d%05d", rapid.Uint16().Draw(t, "vendor"), rapid.Uint16().Draw(t, "product"))
		}
		for d := '0'; d <= '9'; d++ {
			if label.Verhoeff(text + string(d)) {
				text += string(d)
				break
			}
		}
		if long == 0 && rapid.Bool().Draw(t, "printed") {
			by := rapid.SampledFrom([]string{"-", " "}).Draw(t, "between")
			return text[:4] + by + text[4:7] + by + text[7:]
		}
		return inGroups(t, text, []int{2, 3, 4, 5, 21})
	})
}

// qrCodes draws a Matter QR code, with its MT: or without.
func qrCodes() *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		passcode := rapid.Uint64Range(1, 99999998).Filter(func(n uint64) bool { return label.MayPass(uint32(n)) }).Draw(t, "passcode")
		lo := uint64(rapid.Uint16().Draw(t, "vendor"))<<3 | uint64(rapid.Uint16().Draw(t, "product"))<<19 |
			4<<37 | uint64(rapid.Uint64Range(0, 4095).Draw(t, "discriminator"))<<45 | passcode<<57
		hi := passcode >> 7
		b := make([]byte, 11)
		for i := range b {
			b[i] = byte(lo)
			lo, hi = lo>>8|hi<<56, hi>>8
		}
		require.Equal(t, 0, bits.Len64(lo|hi))
		return rapid.SampledFrom([]string{"MT:", "]Q1MT:", "mt:", ""}).Draw(t, "prefix") + toBase38(b)
	})
}

// toBase38 writes what the package only reads.
func toBase38(b []byte) string {
	var out strings.Builder
	for chunk := range slices.Chunk(b, 3) {
		n := 0
		for i, x := range chunk {
			n |= int(x) << (8 * i)
		}
		for range []int{0, 2, 4, 5}[len(chunk)] {
			out.WriteByte("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-."[n%38])
			n /= 38
		}
	}
	return out.String()
}

// inGroups parts a text in groups of a drawn length.
func inGroups(t *rapid.T, text string, lengths []int) string {
	n := rapid.SampledFrom(lengths).Draw(t, "group")
	by := rapid.SampledFrom([]string{" ", "-", ":", ".", "  "}).Draw(t, "between")
	var groups []string
	for g := range slices.Chunk([]byte(text), n) {
		groups = append(groups, string(g))
	}
	return strings.Join(groups, by)
}
