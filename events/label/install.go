package label

import "encoding/hex"

// IsInstallCode says whether a text is an install code: 6, 8, 12 or 16 bytes in
// hex, then their CRC-16/IBM-SDLC, low byte first (Zigbee Base Device
// Behavior, section on install codes). Spaces and - : . _ / between the digits
// don't count.
func IsInstallCode(text string) bool {
	digits := squeeze(text)
	if !installLong(len(digits)) || !allHex(digits) {
		return false
	}
	b, err := hex.DecodeString(digits)
	if err != nil {
		return false
	}
	n := len(b) - 2
	return crc16(b[:n]) == uint16(b[n])|uint16(b[n+1])<<8
}

// installLong says whether an install code and its CRC have so many hex digits.
func installLong(n int) bool { return n == shortest || longerInstall(n) }

const shortest = 16 // hex digits of a 6-byte install code, and of an EUI-64

func longerInstall(n int) bool { return n == 20 || n == 28 || n == 36 }

// crc16 is CRC-16/IBM-SDLC, also called X-25: polynomial 0x1021, reflected,
// begun with and turned over by 0xffff.
func crc16(b []byte) uint16 {
	crc := uint16(0xffff)
	for _, x := range b {
		crc ^= uint16(x)
		for range 8 {
			if crc&1 != 0 {
				crc = crc>>1 ^ 0x8408
			} else {
				crc >>= 1
			}
		}
	}
	return ^crc
}
