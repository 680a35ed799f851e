package settle_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/settle"
	"pairwalk/projection/tale"
)

func off(c events.CircuitID) events.PowerOff { return events.PowerOff{Of: events.Circuit(c)} }
func on(c events.CircuitID) events.PowerOn   { return events.PowerOn{Of: events.Circuit(c)} }

// Power cut short the wait: start it again when power is back.
func TestPowerCut(t *testing.T) {
	cases := []struct {
		name  string
		tell  func(d *desk, bo *tale.Teller)
		from  string
		ready string
	}{
		{"in the wait", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:04", off("C2"))
			d.us.Say("10:06", on("C2"))
		}, "10:07", "10:16:01"},
		{"in the wait that a cut began again", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:04", off("C2"))
			d.us.Say("10:06", on("C2"))
			d.us.Say("10:15", off("C3"))
			d.us.Say("10:15:30", on("C3"))
		}, "10:16", "10:25:31"},
		{"of two circuits, by the one that comes back last", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:04", off("C2"))
			d.us.Say("10:05", off("C3"))
			d.us.Say("10:06", on("C3"))
			d.us.Say("10:08", on("C2"))
		}, "10:09", "10:18:01"},
		{"once, and once more after the wait that it began again", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:04", off("C2"))
			d.us.Say("10:05", on("C2"))
			d.us.Say("10:16", off("C3"))
			d.us.Say("10:17", on("C3"))
		}, "10:18", "10:18:00"},
		{"of a circuit, called back by the device", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:04", off("C2"))
			d.us.Say("10:07", events.PowerOn{Of: events.Device("1-2")})
		}, "10:08", "10:17:01"},
		{"after the wait", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:11", off("C2"))
			d.us.Say("10:12", on("C2"))
		}, "10:13", "10:13:00"},
		{"after the wait for a colleague's pairing, told by our receipt", func(d *desk, bo *tale.Teller) {
			bo.Say("10:05", paired("1-3"))
			d.hears("10:06", bo)
			d.us.Say("10:17", off("C2"))
			d.us.Say("10:18", on("C2"))
		}, "10:18", "10:18:00"},
		{"over before the pairing", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:15", off("C2"), tale.When("09:45", "09:50"))
			d.us.Say("10:15", on("C2"), tale.When("09:51", "09:56"))
		}, "10:15", "10:15:00"},
		{"typed, and in the wait", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:15", off("C2"), tale.When("10:03", "10:05"))
			d.us.Say("10:15", on("C2"), tale.When("10:06", "10:08"))
		}, "10:15", "10:18:01"},
		{"of one router only", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:04", events.PowerOff{Of: events.Device("1-2")})
			d.us.Say("10:06", events.PowerOn{Of: events.Device("1-2")})
		}, "10:07", "10:16:01"},
		{"of a star device, which is no part of the mesh", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:04", off("C5"))
			d.us.Say("10:06", on("C5"))
		}, "10:07", "10:10:01"},
		{"by a colleague with a clock 4 minutes fast and not compared", func(d *desk, bo *tale.Teller) {
			bo.Skew = 4 * time.Minute
			bo.Say("10:08", off("C2")) // 10:12 by theirs
			bo.Say("10:09", on("C2"))
			d.hears("10:12", bo)
		}, "10:12", "10:22:01"},
		{"by a colleague whose clock was compared", func(d *desk, bo *tale.Teller) {
			bo.Skew = 4 * time.Minute
			d.us.Compare("10:02", bo, 0)
			bo.Say("10:08", off("C2"))
			bo.Say("10:09", on("C2"))
			d.hears("10:12", bo)
		}, "10:12", "10:19:01"},
		{"just after the pairing, by a colleague whose clock gains and is compared late", func(d *desk, bo *tale.Teller) {
			bo.Rate = 100
			d.us.Say("10:00:00.010", paired("1-2"))
			bo.Say("10:00:00.030", off("C2"))
			bo.Say("10:06:40", on("C2"))
			d.us.Compare("10:06:40", bo, 0)
			d.hears("10:06:40", bo)
		}, "10:06:40", "10:16:41"},
		{"by a colleague, compared, and after the wait", func(d *desk, bo *tale.Teller) {
			bo.Skew = -4 * time.Minute
			d.us.Compare("10:02", bo, 0)
			bo.Say("10:11", off("C2")) // 10:07 by theirs
			bo.Say("10:12", on("C2"))
			d.hears("10:13", bo)
		}, "10:13", "10:13:00"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d := newDesk()
			bo := d.joins("bo")
			d.us.Say("10:00", paired("1-1"))
			c.tell(d, bo)
			require.Equal(t, c.ready, d.pushable(t, c.from))
		})
	}
}

// A cut that fell into the wait and lasts blocks; the reason says what ends it.
func TestPowerStillOff(t *testing.T) {
	d := newDesk()
	d.us.Say("09:00", paired("1-2"))
	d.us.Say("10:00", paired("1-1"))
	d.us.Say("10:04", off("C2"))
	d.comesHome("10:05")
	j := d.judge("10:30")
	require.Equal(t, settle.Blocked, j.Verdict)
	require.Equal(t, []settle.ReasonKind{settle.PowerOff}, kinds(j))
	require.Contains(t, j.Reasons[0].Words, "log power on")
	require.Contains(t, j.Reasons[0].Subjects, events.Circuit("C2"))

	d.us.Say("10:31", on("C2"))
	require.Equal(t, settle.Wait, d.judge("10:41").Verdict)
	require.Equal(t, settle.Ready, d.judge("10:41:01").Verdict)
}

// What is dark from before the pairing, or went dark after the wait, only misses
// the push.
func TestPowerOffBesideTheWait(t *testing.T) {
	for name, cut := range map[string]string{"before the pairing": "09:30", "after the wait": "10:20"} {
		t.Run(name, func(t *testing.T) {
			d := newDesk()
			d.us.Say("09:00", paired("1-2"))
			if cut < "10" {
				d.us.Say(cut, off("C2"))
			}
			d.us.Say("10:00", paired("1-1"))
			if cut > "10" {
				d.us.Say(cut, off("C2"))
			}
			d.comesHome("10:25")
			j := d.judge("10:30")
			require.Equal(t, settle.Ready, j.Verdict)
			require.Equal(t, []settle.ReasonKind{settle.PowerOff}, kinds(j))
			require.Equal(t, settle.Ready, j.Reasons[0].For, "a remark")
			require.Contains(t, j.Reasons[0].Words, "1-2 will miss a push")
		})
	}
}

// A star device that is dark is no reason to wait for the mesh.
func TestStarDeviceDarkInTheWait(t *testing.T) {
	d := newDesk()
	d.us.Say("10:00", paired("1-1"))
	d.us.Say("10:01", paired("1-5"))
	d.us.Say("10:04", off("C5"))
	d.comesHome("10:05")
	j := d.judge("10:11")
	require.Equal(t, settle.Ready, j.Verdict)
	require.Contains(t, j.Reasons[0].Words, "1-5 will miss a push")
}

// A router that was dark in the wait and is so still blocks, whatever else takes
// its power since.
func TestPowerStillOffAndCutAgain(t *testing.T) {
	for name, again := range map[string]events.Subject{"by its own switch": events.Device("1-2"), "and logged twice": events.Circuit("C2")} {
		t.Run(name, func(t *testing.T) {
			d := newDesk()
			d.us.Say("09:00", paired("1-2"))
			d.us.Say("10:00", paired("1-1"))
			d.us.Say("10:04", off("C2"))
			d.comesHome("10:05")
			d.us.Say("10:30", events.PowerOff{Of: again})
			j := d.judge("10:31")
			require.Equal(t, settle.Blocked, j.Verdict)
			require.Contains(t, j.Reasons[0].Subjects, events.Circuit("C2"))

			d.us.Say("10:32", on("C2"))
			d.us.Say("10:33", events.PowerOn{Of: events.Device("1-2")})
			require.Equal(t, settle.Wait, d.judge("10:42").Verdict)
			require.Equal(t, settle.Ready, d.judge("10:42:01").Verdict)
		})
	}
}

// What brought one router back counts, though its circuit was never said to be on.
func TestPowerBackByTheDevice(t *testing.T) {
	d := newDesk()
	d.us.Say("09:00", paired("1-2"))
	d.us.Say("10:00", paired("1-1"))
	d.us.Say("10:04", off("C2"))
	d.us.Say("10:05", events.PowerOn{Of: events.Device("1-2")})
	d.comesHome("10:05")
	d.us.Say("10:20", events.PowerOff{Of: events.Device("1-2")})
	j := d.judge("10:21")
	require.Equal(t, settle.Ready, j.Verdict)
	require.Contains(t, j.Reasons[0].Words, "1-2 will miss a push")
}

// A cut that falls into a wait which another cut began counts, though by the
// clocks of those who tell of them it comes first.
func TestPowerCutsOutOfOrder(t *testing.T) {
	d := newDesk()
	bo, cy := d.joins("bo"), d.joins("cy")
	d.us.Say("08:30", events.SettingsChanged{Set: map[events.SettingKey]string{events.ClockReference: string(cy.Key)}})
	bo.Skew = -4 * time.Hour
	d.us.Say("10:00", paired("1-1"))
	d.us.Compare("10:02", bo, 0)
	d.us.Say("10:08", off("C3"))
	d.us.Say("10:09", on("C3"))
	bo.Say("10:15", off("C2"))
	bo.Say("10:16", on("C2"))
	d.hears("10:17", bo)
	require.Equal(t, "10:26:01", d.pushable(t, "10:17"))
}

// No step of a clock hides a cut, also not of the clock that is site time.
func TestPowerCutAfterRebootAndStep(t *testing.T) {
	newDay := func() *desk {
		d := newDesk()
		d.us.Say("09:00", paired("1-2"))
		d.us.Say("10:00", paired("1-1"))
		d.reboots("10:02")
		d.us.Skew = time.Hour
		d.us.Say("10:03", off("C2"))
		return d
	}
	t.Run("and back", func(t *testing.T) {
		d := newDay()
		d.us.Say("10:05", on("C2"))
		require.Equal(t, "10:15:01", d.pushable(t, "10:05"))
	})
	t.Run("and still off", func(t *testing.T) {
		d := newDay()
		d.comesHome("10:04")
		require.Equal(t, settle.Blocked, d.judge("11:00").Verdict)
	})
}

// What went dark long after the wait keeps nothing back, also not after a reboot,
// when only site time knows that it was after.
func TestPowerOffSinceAnEarlierBoot(t *testing.T) {
	d := newDesk()
	d.us.Say("09:00", paired("1-2"))
	d.reboots("09:30")
	d.us.Say("10:20", off("C2"))
	d.comesHome("10:25")
	d.reboots("11:00")
	require.Equal(t, settle.Wait, d.judge("11:05").Verdict)
	j := d.judge("11:11")
	require.Equal(t, settle.Ready, j.Verdict, "%v", j.Reasons)
	require.Contains(t, j.Reasons[0].Words, "1-2 will miss a push")
}

// Whoever logged the cut before the pairing knows their order through any number
// of reboots, and by a clock that nobody compared.
func TestPowerOffBeforeThePairingByTheFeed(t *testing.T) {
	d := newDesk()
	cy := d.joins("cy")
	d.us.Say("08:30", events.SettingsChanged{Set: map[events.SettingKey]string{events.ClockReference: string(cy.Key)}})
	d.us.Say("09:30", off("C2"))
	d.reboots("09:40")
	d.us.Say("10:00", paired("1-1"))
	d.us.Say("10:01", paired("1-2")) // by a lead from elsewhere
	d.comesHome("10:05")
	d.reboots("10:30")
	j := d.judge("10:41")
	require.Equal(t, settle.Ready, j.Verdict, "%v", j.Reasons)
	require.Contains(t, j.Reasons[0].Words, "1-2 will miss a push")
}

// A colleague's device knows how long after their own pairing they cut the power,
// and whether it is back or not.
func TestPowerOffAfterTheWaitByTheirBoot(t *testing.T) {
	newDay := func() (*desk, *tale.Teller) {
		d := newDesk()
		bo := d.joins("bo")
		bo.Say("10:00", paired("1-1"))
		bo.Say("10:00", paired("1-2"))
		d.hears("10:05", bo)
		bo.Say("10:11", off("C2"))
		return d, bo
	}
	t.Run("still off", func(t *testing.T) {
		d, bo := newDay()
		d.hears("10:13", bo)
		d.comesHome("10:14")
		j := settle.Judge(d.site(), "H1", d.attentive(tale.T("10:16")))
		require.Equal(t, settle.Ready, j.Verdict, "%v", j.Reasons)
		require.Contains(t, j.Reasons[0].Words, "1-2 will miss a push")
	})
	t.Run("and back", func(t *testing.T) {
		d, bo := newDay()
		bo.Say("10:12", on("C2"))
		d.hears("10:13", bo)
		require.Equal(t, "10:15:01", d.pushable(t, "10:13"))
	})
}

// What is dark since before a colleague's pairing, after our reboots, is known by
// site time alone.
func TestPowerOffBeforeThePairingBySiteTime(t *testing.T) {
	d := newDesk()
	bo := d.joins("bo")
	d.us.Say("09:00", off("C2"))
	d.us.Compare("09:05", bo, 0)
	bo.Say("10:00", paired("1-1"))
	bo.Say("10:00", paired("1-2"))
	d.hears("10:05", bo)
	d.comesHome("10:06")
	d.reboots("10:20")
	j := settle.Judge(d.site(), "H1", d.attentive(tale.T("10:31")))
	require.Equal(t, settle.Ready, j.Verdict, "%v", j.Reasons)
	require.Contains(t, j.Reasons[0].Words, "1-2 will miss a push")
}

// A pairing may be logged after the cut that fell into its wait.
func TestPowerCutInAWaitLoggedLater(t *testing.T) {
	d := newDesk()
	d.us.Say("10:04", off("C2"))
	d.us.Say("10:05", paired("1-1"), tale.When("09:58", "10:02"))
	d.us.Say("10:06", on("C2"))
	require.Equal(t, "10:16:01", d.pushable(t, "10:07"))
}

// A cut that a colleague told of before we paired came before the pairing,
// whatever their clock.
func TestPowerOffHeardOfBeforeThePairing(t *testing.T) {
	d := newDesk()
	bo := d.joins("bo")
	bo.Say("09:40", off("C2"))
	d.hears("09:50", bo)
	d.us.Say("10:00", paired("1-1"))
	d.us.Say("10:01", paired("1-2"))
	d.comesHome("10:05")
	j := settle.Judge(d.site(), "H1", d.attentive(tale.T("10:12")))
	require.Equal(t, settle.Ready, j.Verdict, "%v", j.Reasons)
	require.Contains(t, j.Reasons[0].Words, "1-2 will miss a push")
}
