package label_test

import (
	"fmt"

	"pairwalk/events/label"
)

func ExampleRead() {
	for _, text := range []string{
		"SN-0042",
		"02-00-5E-FF-FE-00-53-01 MT:Y.K9042C00KA0648G00",
		"(01)05412345000013(21)AJY3095721P49",
		"3497-011-2332",
		"(01)05412345000014(21)AJY3095721P49",
	} {
		r, err := label.Read(text)
		if err != nil {
			fmt.Println("error:", err)
			continue
		}
		fmt.Printf("%s: serial %q\n", r.Form, r.Serial)
		for _, n := range r.Notes {
			fmt.Println("  ", n)
		}
	}
	// Output:
	// plain: serial "SN-0042"
	// eui64: serial "02005efffe005301"
	//    a Matter code (vendor FFF1, product 8000) was left out: it is a secret
	// gs1: serial "AJY3095721P49"
	// matter-manual: serial ""
	//    a Matter setup code, or what may be one, was left out: it is a secret; if it is the serial, type it as the serial
	//    the label gives no serial that may be kept: type the one printed on it
	// error: (01) has a check digit that does not fit; scan the label again, or type the serial printed on it
}
