//go:build race

package ordeal

// buildFlags let the command itself look for races where the tests do.
var buildFlags = []string{"-race"}
