package settle_test

import (
	"fmt"

	"pairwalk/events"
	"pairwalk/projection/settle"
	"pairwalk/projection/tale"
)

// The last device was paired at 10:00. At 10:07 its record has come home, and
// somebody else is assigned to the hub.
func ExampleJudge() {
	d := newDesk()
	bo := d.joins("bo")
	d.us.Say("09:00", events.HubAssigned{Hub: "H1", Member: bo.Key})
	d.us.Say("10:00", paired("1-1"))
	d.comesHome("10:06")
	show := func(clock string) {
		j := settle.Judge(d.site(), "H1", d.local(tale.T(clock)))
		fmt.Println(clock, j.Verdict)
		for _, r := range j.Reasons {
			fmt.Println("  -", r.Words)
		}
	}
	show("10:07")
	show("10:11")
	d.us.Say("10:12", events.MemberAsked{Member: bo.Key, Hub: "H1", Through: tale.T("10:12")})
	show("10:13")
	// Output:
	// 10:07 wait
	//   - wait 3 min 01 s more: 1-1 was paired by lead; star devices and other hubs need no wait
	//   - bo has not been heard since 08:00: ask what they paired on H1 since then and log the answer, or sync with them
	// 10:11 ask
	//   - bo has not been heard since 08:00: ask what they paired on H1 since then and log the answer, or sync with them
	// 10:13 ready
}
