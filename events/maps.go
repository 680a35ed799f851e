package events

import (
	"maps"
	"slices"
)

// sortedMap walks a map as an object with its keys in byte order.
func sortedMap[K ~string, V any](w *walk, name string, m *map[K]V, ok rule, value func(K, *V)) {
	if w.reading {
		*m = map[K]V{}
	}
	w.lit("{")
	if w.reading {
		readMap(w, name, *m, ok, value)
	} else {
		writeMap(w, name, *m, ok, value)
	}
	w.lit("}")
}

func writeMap[K ~string, V any](w *walk, name string, m map[K]V, ok rule, value func(K, *V)) {
	for i, k := range slices.Sorted(maps.Keys(m)) {
		if i > 0 {
			w.lit(",")
		}
		s, v := string(k), m[k]
		w.str(name, &s, ok)
		w.lit(":")
		value(k, &v)
	}
}

func readMap[K ~string, V any](w *walk, name string, m map[K]V, ok rule, value func(K, *V)) {
	last := ""
	for w.err == nil && !w.peek('}') {
		if len(m) > 0 {
			w.lit(",")
		}
		var s string
		var v V
		w.str(name, &s, ok)
		w.lit(":")
		value(K(s), &v)
		if len(m) > 0 && s <= last {
			w.fail("%w: keys out of order", errNotCanonical)
		}
		last = s
		m[K(s)] = v
	}
}
