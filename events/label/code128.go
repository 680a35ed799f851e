package label

import (
	"errors"
	"fmt"
)

// The start values of Code 128 (ISO/IEC 15417).
const (
	StartA = 103
	StartB = 104
	StartC = 105
)

// Code128Check is the check value of a Code 128 symbol: its start value, plus
// each further value times its place, modulo 103 (ISO/IEC 15417).
func Code128Check(start int, values ...int) (int, error) {
	if start < StartA || start > StartC {
		return 0, fmt.Errorf("start value %d is none of %d, %d and %d", start, StartA, StartB, StartC)
	}
	sum := start
	for i, v := range values {
		if v < 0 || v >= StartA {
			return 0, fmt.Errorf("value %d of the symbol is not from 0 to %d", i+1, StartA-1)
		}
		sum = (sum + (i+1)*v) % 103
	}
	return sum, nil
}

// Code128Text is the values of a text in code set B: the characters from space
// to ~ are 0 to 94. Up to _ (63) they are the same in set A.
func Code128Text(text string) ([]int, error) {
	values := make([]int, len(text))
	for i := range len(text) {
		if text[i] < ' ' || text[i] > '~' {
			return nil, errors.New("code set B has only the characters from space to ~")
		}
		values[i] = int(text[i] - ' ')
	}
	return values, nil
}

// Code128TextCheck is the check value of a text in code set B.
func Code128TextCheck(text string) (int, error) {
	values, err := Code128Text(text)
	if err != nil {
		return 0, err
	}
	return Code128Check(StartB, values...)
}
