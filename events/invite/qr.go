package invite

import (
	"fmt"
	"strings"

	"github.com/skip2/go-qrcode"
)

// QR draws text as a QR code of half blocks, two modules to a character cell,
// with its quiet zone of four modules. Ink stands for light: on a terminal, print
// it in white on black, for a camera wants the dark modules darker. A token is
// drawn in capitals, which take a third less room and which [Parse] takes as well;
// a root is drawn from its words. The package doc says how wide a token is. It
// fails where text is too long for any QR code (some 2,900 bytes).
func QR(text string) (string, error) {
	rows, err := modules(text)
	return drawn(rows), err
}

// Modules is [QR] for a screen: a row of 0 and 1 for each row of modules, 1 for
// dark, the quiet zone included.
func Modules(text string) ([]string, error) {
	rows, err := modules(text)
	out := make([]string, len(rows))
	for y, row := range rows {
		line := make([]byte, len(row))
		for x, dark := range row {
			line[x] = '0'
			if dark {
				line[x] = '1'
			}
		}
		out[y] = string(line)
	}
	return out, err
}

func modules(text string) ([][]bool, error) {
	if strings.HasPrefix(text, prefix) {
		text = strings.ToUpper(text)
	}
	code, err := qrcode.New(text, qrcode.Low)
	if err != nil {
		return nil, fmt.Errorf("draw QR code: %w", err)
	}
	return code.Bitmap(), nil
}

// drawn puts two rows of modules (true is dark) into each line. Below an odd last
// row lies more quiet zone.
func drawn(rows [][]bool) string {
	var b strings.Builder
	for y := 0; y < len(rows); y += 2 {
		for x, upper := range rows[y] {
			lower := y+1 < len(rows) && rows[y+1][x]
			switch {
			case upper && lower:
				b.WriteString(" ")
			case upper:
				b.WriteString("▄")
			case lower:
				b.WriteString("▀")
			default:
				b.WriteString("█")
			}
		}
		b.WriteString("\n")
	}
	return b.String()
}
