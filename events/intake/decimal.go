package intake

import (
	"fmt"
	"math/big"
	"regexp"
	"strings"
)

// decimal is a plain decimal number with a point or a comma.
var decimal = regexp.MustCompile(`^[+-]?([0-9]{1,12})(?:([.,])([0-9]{1,40}))?$`)

// comma says how the decimal signs of a cell are to be understood.
type comma struct {
	sep   rune // of the file's cells; 0 in a workbook
	plain bool // a number of a workbook, where a point is one for sure
}

// A length's units in mm; a foot is 304.8 mm (international foot, exact).
var inMillimetres = map[string]*big.Rat{
	"m":  big.NewRat(1000, 1),
	"mm": big.NewRat(1, 1),
	"ft": big.NewRat(3048, 10),
}

// millimetres reads a length to the nearest mm, halves away from zero.
func millimetres(cell, unit string, c comma) (int64, error) {
	v, err := number(cell, c, unit == "mm")
	if err != nil {
		return 0, err
	}
	return round(v.Mul(v, inMillimetres[unit])), nil
}

// number reads a decimal number. A comma may stand for the point unless it could
// as well part thousands: unless it has one to three digits before it, the first
// of them no 0, and just three after. Then it is a point only in a file of
// semicolons, which spreadsheets write where the comma is the decimal sign. What
// hardly comes in such fractions (coarse), as millimetres, holds the same of the
// point, in every file.
func number(cell string, c comma, coarse bool) (*big.Rat, error) {
	cell = strings.Replace(cell, "−", "-", 1)
	m := decimal.FindStringSubmatch(cell)
	if m == nil {
		return nil, fmt.Errorf("%q is not a number: write it like 12.5, without a unit and without signs between thousands", clip(cell))
	}
	digits, sign, fraction := m[1], m[2], m[3]
	thousands := len(fraction) == 3 && len(digits) <= 3 && digits[0] != '0' && !c.plain
	if thousands && (sign == "," && c.sep != ';' || sign != "" && coarse) {
		return nil, fmt.Errorf("%q may be a fraction or thousands: write %s%s or %s.%s0", clip(cell), digits, fraction, digits, fraction)
	}
	v, ok := new(big.Rat).SetString(strings.Replace(cell, ",", ".", 1))
	if !ok {
		return nil, fmt.Errorf("%q is not a number", clip(cell))
	}
	return v, nil
}

// round is the nearest whole number, halves away from zero.
func round(v *big.Rat) int64 {
	num := new(big.Int).Abs(v.Num())
	twice := num.Lsh(num, 1).Add(num, v.Denom())
	n := twice.Quo(twice, new(big.Int).Lsh(v.Denom(), 1)).Int64()
	if v.Sign() < 0 {
		return -n
	}
	return n
}

// metres writes mm in metres with as many digits as it takes.
func metres(mm int64) string {
	return new(big.Rat).SetFrac64(mm, 1000).FloatString(decimals(mm))
}

// decimals is how many of the three digits behind the point are needed.
func decimals(mm int64) int {
	n := 3
	for n > 0 && mm%10 == 0 {
		mm, n = mm/10, n-1
	}
	return n
}
