package journal

import (
	"hash/crc32"
	"sync"
)

// A check value over many lines follows from those over each, so that no line has
// to be read again for it.

var castagnoliTable = crc32.MakeTable(crc32.Castagnoli)

// castagnoli is CRC-32C, which modern processors compute in hardware.
func castagnoli(sum uint32, b []byte) uint32 { return crc32.Update(sum, castagnoliTable, b) }

// lineSum is the check value of a line with its line feed. That one byte more is worked
// in here, as a call for it would cost as much as for the line, and set memory aside.
func lineSum(line []byte) uint32 {
	sum := ^castagnoli(0, line)
	return ^(castagnoliTable[byte(sum)^'\n'] ^ sum>>8)
}

// joined is the check value of bytes whose beginning has the check value a, and
// whose n last bytes have b. A CRC is a remainder of polynomials over GF(2): that
// of the beginning counts times x^8n.
func joined(a, b uint32, n int) uint32 { return times(a, xTo8(n)) ^ b }

// times multiplies modulo the polynomial; the highest bit is the coefficient of 1.
func times(a, b uint32) uint32 {
	var product uint32
	for ; a != 0; a <<= 1 {
		product ^= b & -(a >> 31)
		b = b>>1 ^ crc32.Castagnoli&-(b&1)
	}
	return product
}

// xTo8 is x^8n. That of most lines is known from before.
func xTo8(n int) uint32 {
	if short := shifts(); n < len(short) {
		return short[n]
	}
	power, square := uint32(1)<<31, uint32(1)<<(31-8) // 1, x^8
	for ; n > 0; n >>= 1 {
		if n&1 != 0 {
			power = times(power, square)
		}
		square = times(square, square)
	}
	return power
}

// shifts are x^8n for lines of usual lengths.
var shifts = sync.OnceValue(func() *[1024]uint32 {
	var of [1024]uint32
	of[0] = 1 << 31
	for n := 1; n < len(of); n++ {
		of[n] = times(of[n-1], 1<<(31-8))
	}
	return &of
})
