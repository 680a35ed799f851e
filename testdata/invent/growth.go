package invent

import "fmt"

// Sized is a job to measure growth by: one thing of it is larger than in another.
type Sized struct{ Events, Members, Devices int }

// Growth is every size that growth is measured at: by entries, by members, by devices.
var Growth = []Sized{
	{1_000, 10, 500}, {10_000, 10, 500}, {100_000, 10, 500}, {1_000_000, 10, 500},
	{100_000, 2, 500}, {100_000, 200, 500}, {100_000, 10, 5_000},
}

func (x Sized) String() string {
	return fmt.Sprintf("%d events, %d members, %d devices", x.Events, x.Members, x.Devices)
}

// Job is the job of that size.
func (x Sized) Job() Job {
	return Job{Seed: 1, Members: x.Members, Count: x.Events, Size: Size{Seed: 1, Devices: x.Devices}}
}
