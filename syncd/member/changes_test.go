package member_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/syncd/member"
)

func TestTagRanges(t *testing.T) {
	for _, tt := range []struct {
		name     string
		in, want []string
	}{
		{"none", nil, nil},
		{"one", []string{"2-101"}, []string{"2-101"}},
		{"two stay two", []string{"2-101", "2-102"}, []string{"2-101", "2-102"}},
		{"a row", []string{"2-101", "2-102", "2-103"}, []string{"2-101..2-103"}},
		{"a gap", []string{"2-101", "2-102", "2-103", "2-105", "2-106", "2-107"}, []string{"2-101..2-103", "2-105..2-107"}},
		{"another floor", []string{"2-101", "2-102", "3-103"}, []string{"2-101", "2-102", "3-103"}},
		{"a digit more", []string{"2-8", "2-9", "2-10"}, []string{"2-8..2-10"}},
		{"zeros in front", []string{"L008", "L009", "L010"}, []string{"L008..L010"}},
		{"zeros that differ", []string{"L08", "L09", "L010"}, []string{"L08", "L09", "L010"}},
		{"no number", []string{"door", "gate", "hall"}, []string{"door", "gate", "hall"}},
	} {
		t.Run(tt.name, func(t *testing.T) { require.Equal(t, tt.want, member.TagRanges(tt.in)) })
	}
}
