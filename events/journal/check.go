package journal

import (
	"bytes"
	"encoding/json"
	"fmt"
)

// A checked line is a JSON object whose last member is the CRC-32C of all the
// bytes before it: {…,"check":"0a1b2c3d"}. The mark and the receipts are made of
// such lines.
const (
	checkStart = `,"check":"`
	checkEnd   = `"}`
	checkBytes = len(checkStart) + 8 + len(checkEnd)
)

// hex8 writes a check value.
func hex8(sum uint32) string { return fmt.Sprintf("%08x", sum) }

// encodeChecked writes v as a checked line with its line feed.
func encodeChecked(v any) ([]byte, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	b = b[:len(b)-1] // the closing brace comes after the check value
	return fmt.Appendf(b, "%s%s%s\n", checkStart, hex8(castagnoli(0, b)), checkEnd), nil
}

// decodeChecked reads a checked line, given without its line feed, into v. It
// says whether the line is whole; v is untouched where not.
func decodeChecked(line []byte, v any) bool {
	n := len(line) - checkBytes
	if n < 1 || !bytes.HasPrefix(line[n:], []byte(checkStart)) {
		return false
	}
	want := checkStart + hex8(castagnoli(0, line[:n])) + checkEnd
	if string(line[n:]) != want {
		return false
	}
	whole := append(bytes.Clone(line[:n]), '}')
	return json.Unmarshal(whole, v) == nil
}
