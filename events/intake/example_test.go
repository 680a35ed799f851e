package intake_test

import (
	"fmt"
	"strings"

	"pairwalk/events"
	"pairwalk/events/intake"
)

// A schedule as the office sent it: one row is wrong, and the good ones can be
// compared with what the site has.
func Example() {
	file := strings.NewReader("Position;Kind;Hub\n2-114;dimmer;H1\n2-115;dimer;H1\n2-116;sensor;H2\n")
	sheet, err := intake.Read(file, intake.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range sheet.Problems {
		fmt.Println(p)
	}
	site := intake.Listing{Hubs: map[events.HubID]events.HubListed{"H1": {Hub: "H1"}}}
	fmt.Print(sheet.Diff(site))
	// Output:
	// row 3, column Kind: "dimer" is not a kind of device; did you mean dimmer? (dimmer, switch, driver, wall-control, sensor, relay, wired-remote, standalone, portable, hub)
	// add: hub H2 (row 4)
	// add: 2-114: dimmer on H1 (row 2)
	// add: 2-116: sensor on H2 (row 4)
	// 0 the same
}

func ExampleParseTags() {
	known := []events.Tag{"2-99", "2-100", "2-101", "2-120", "3-100"}
	tags, err := intake.ParseTags("2-99..2-101, 3-100", known)
	fmt.Println(tags, err)
	_, err = intake.ParseTags("2-99..2-121", known)
	fmt.Println(err)
	// Output:
	// [2-99 2-100 2-101 3-100] <nil>
	// read tags: "2-121" is not on the schedule; did you mean 2-101?
}

// A second import of walls amends what has changed, and finds a wall by its line.
func ExampleSheet_Diff() {
	const head = "floor,material,thickness_mm,points\n"
	listed, err := intake.Read(strings.NewReader(head+"2,drywall,100,0 0; 5.5 0\n"), intake.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	wall := listed.Rows[0].Payload.(events.WallListed)
	site := intake.Listing{Walls: map[string]events.WallListed{wall.Wall: wall}}
	sheet, err := intake.Read(strings.NewReader(head+"2,concrete,150,5.5 0; 0 0\n2,glass,6,0 0; 0 3\n"), intake.Options{Site: site})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Print(sheet.Diff(site))
	// Output:
	// add: wall 2: 0 0; 0 3 on floor 2: glass (row 3)
	// amend: wall 2: 0 0; 5.5 0: material "concrete", was "plasterboard"; thickness "150 mm", was "100 mm" (row 2)
	// 0 the same
}
