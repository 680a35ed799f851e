//go:build race

package member_test

const raced = true
