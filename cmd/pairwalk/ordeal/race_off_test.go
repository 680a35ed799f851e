//go:build !race

package ordeal

var buildFlags []string
