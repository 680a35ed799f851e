package beside

import "runtime"

// Heap is how many bytes of the heap are in use, without rubbish.
func Heap() int64 {
	runtime.GC()
	runtime.GC() // what a finalizer let go of
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}
