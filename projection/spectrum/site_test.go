package spectrum_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/spectrum"
	"pairwalk/projection/tale"
)

var plain, move, apart = spectrum.Options{}, spectrum.Options{Move: true}, spectrum.Options{Apart: true}

func TestWhoGetsWhichChannel(t *testing.T) {
	beside := func(j *job, hubs ...events.HubID) {
		for i, h := range hubs {
			j.hub(h, m(float64(10*i), 0, 0), "")
			j.list(h, 3, m(float64(10*i), 3, 0), "")
		}
	}
	for _, c := range []struct {
		name  string
		tell  func(j *job)
		opts  spectrum.Options
		want  []int
		basis spectrum.Basis
	}{
		{"one hub gets the usual channel", func(j *job) { beside(j, "H1") }, plain, []int{25}, spectrum.None},
		{"another usual channel", func(j *job) { beside(j, "H1"); j.set(events.UsualChannel, "15") }, plain, []int{15}, spectrum.None},
		{"a hub with a channel stays where nothing is better", func(j *job) { beside(j, "H1"); j.channel("H1", 18) }, plain, []int{18}, spectrum.None},
		{"far apart, all get the usual one", func(j *job) {
			j.hub("H1", m(0, 0, 0), "")
			j.hub("H2", m(500_000, 0, 0), "")
		}, plain, []int{25, 25}, spectrum.Predicted},
		{"side by side, each its own", func(j *job) { beside(j, "H1", "H2", "H3") }, plain, []int{11, 12, 25}, spectrum.Predicted},
		{"the nearest two are kept apart if one channel is lacking", func(j *job) {
			j.set(events.AllowedChannels, "15,25")
			j.hub("H1", m(0, 0, 0), "")
			j.hub("H2", m(10, 0, 0), "")
			j.hub("H3", m(100, 0, 0), "")
			j.hub("H4", m(110, 0, 0), "")
		}, plain, []int{15, 25, 15, 25}, spectrum.Predicted},
		{"a floor between is better than none", func(j *job) {
			j.set(events.AllowedChannels, "15,25")
			for _, f := range []struct {
				id    events.FloorID
				level int
			}{{"G", 0}, {"1st", 1}} {
				j.say("08:02", events.FloorListed{Floor: f.id, Level: f.level})
			}
			j.hub("H1", m(0, 0, 0), "G")
			j.hub("H2", m(3.5, 0, 0), "G")
			j.hub("H3", m(0, 0, 3.5), "1st")
			j.hub("H4", m(3.5, 0, 3.5), "1st")
		}, plain, []int{15, 25, 25, 15}, spectrum.Predicted},
		{"a bare list: every two alike", func(j *job) {
			for _, h := range []events.HubID{"H1", "H2", "H3"} {
				j.hub(h, nowhere, "")
				j.list(h, 4, nowhere, "")
			}
		}, plain, []int{11, 12, 25}, spectrum.Assumed},
		{"floors alone: next level disturbs, the one beyond does not", func(j *job) {
			j.set(events.AllowedChannels, "15,25")
			for _, h := range []events.HubID{"1", "2", "3"} {
				j.hub("H"+h, nowhere, "")
				j.list("H"+h, 1, nowhere, events.FloorID(h))
			}
		}, plain, []int{25, 15, 25}, spectrum.Assumed},
		{"a basement is below the ground floor, and far from the first", func(j *job) {
			j.set(events.AllowedChannels, "15,20,25")
			for _, h := range []events.HubID{"B1", "0", "1"} {
				j.hub("H"+h, nowhere, events.FloorID(h))
			}
		}, plain, []int{15, 25, 25}, spectrum.Assumed},
		{"Wi-Fi next door sends it off", func(j *job) {
			j.hub("H1", m(0, 0, 0), "1")
			j.survey("08:30", "1", 2, loud(13)) // 2472 MHz; 25 is at 2475, 26 at 2480
		}, plain, []int{11}, spectrum.None},
		{"Wi-Fi 1, 6 and 11 leave 15, 20, 25 and 26", func(j *job) {
			j.set(events.UsualChannel, "22")
			j.hub("H1", m(0, 0, 0), "1")
			j.survey("08:30", "1", 2, loud(1), loud(6), loud(11))
		}, plain, []int{15}, spectrum.None},
		{"a 40 MHz channel may extend to either side", func(j *job) {
			j.set(events.AllowedChannels, "13,18,19,22,25")
			j.set(events.UsualChannel, "13") // 2415; Wi-Fi 6 of 40 MHz covers 2407–2467
			j.hub("H1", m(0, 0, 0), "1")
			j.survey("08:30", "1", 2, events.AccessPoint{Channel: 6, Width: 40, RSSI: -40})
		}, plain, []int{25}, spectrum.None},
		{"Wi-Fi of another floor does not count", func(j *job) {
			j.hub("H1", m(0, 0, 0), "1")
			j.survey("08:30", "2", 2, loud(13))
		}, plain, []int{25}, spectrum.None},
		{"Wi-Fi of 5 GHz does not count", func(j *job) {
			j.hub("H1", m(0, 0, 0), "1")
			j.survey("08:30", "1", 2, events.AccessPoint{Channel: 36, Width: 80, RSSI: -40})
		}, plain, []int{25}, spectrum.None},
		{"the nearest place surveyed counts", func(j *job) {
			j.hub("H1", m(0, 0, 0), "1")
			j.survey("08:30", "1", 30, loud(13))
			j.survey("08:30", "1", 2, loud(1))
		}, plain, []int{25}, spectrum.None},
		{"a later survey of the place replaces the earlier", func(j *job) {
			j.hub("H1", m(0, 0, 0), "1")
			j.survey("08:30", "1", 2, loud(13))
			j.survey("10:30", "1", 2)
		}, plain, []int{25}, spectrum.None},
		{"and is not replaced by one that was logged later and done before", func(j *job) {
			j.hub("H1", m(0, 0, 0), "1")
			j.survey("10:30", "1", 2, loud(13))
			j.Lead.Say("11:00", events.WifiSurveyed{Floor: "1", Place: events.XY{X: 2000}}, tale.When("08:55", "09:05"))
		}, plain, []int{11}, spectrum.None},
		{"without a place the floor's survey counts on average", func(j *job) {
			j.hub("H1", nowhere, "1")
			j.survey("08:30", "1", 2, loud(13))
			j.survey("08:30", "1", 9)
		}, plain, []int{11}, spectrum.None},
		{"star hubs are not planned for", func(j *job) {
			beside(j, "H1")
			j.say("08:05", events.HubListed{Hub: "H2", Radio: events.Star, Place: m(1, 0, 0)})
		}, plain, []int{25}, spectrum.None},
		{"a hub with devices paired stays, the other gives way", func(j *job) {
			beside(j, "H1", "H2")
			j.channel("H2", 25)
			j.pair("H2", j.list("H2", 1, nowhere, "")...)
		}, plain, []int{11, 25}, spectrum.Predicted},
		{"two that stay on one channel share it", func(j *job) {
			pairedOn(j, 20, "H1", "H2")
		}, plain, []int{20, 20}, spectrum.Predicted},
		{"unless they may move", func(j *job) {
			pairedOn(j, 20, "H1", "H2")
		}, move, []int{11, 20}, spectrum.Predicted},
		{"star devices paired hold nobody back", func(j *job) {
			pairedOn(j, 20, "H1")
			j.hub("H2", m(1, 0, 0), "")
			j.channel("H2", 20)
			j.say("08:10", events.DeviceListed{Device: "s", Is: events.Dimmer, Hub: "H2", Radio: events.Star, Power: events.Mains})
			j.pair("H2", "s")
		}, plain, []int{20, 11}, spectrum.Predicted},
		{"26 is left out in North America", func(j *job) {
			j.set(events.Region, "US")
			j.set(events.AllowedChannels, "20,26")
			beside(j, "H1", "H2")
		}, plain, []int{20, 20}, spectrum.Predicted},
		{"elsewhere it is not", func(j *job) {
			j.set(events.Region, "EU")
			j.set(events.AllowedChannels, "20,26")
			beside(j, "H1", "H2")
		}, plain, []int{20, 26}, spectrum.Predicted},
		{"26 is planned if nothing else is allowed", func(j *job) {
			j.set(events.Region, "US")
			j.set(events.AllowedChannels, "26")
			beside(j, "H1")
		}, plain, []int{26}, spectrum.None},
		{"and if only it keeps hubs apart", func(j *job) {
			j.set(events.Region, "us")
			j.set(events.AllowedChannels, "20,26")
			beside(j, "H1", "H2")
		}, apart, []int{20, 26}, spectrum.Predicted},
		{"apart costs Wi-Fi rather than share", func(j *job) {
			j.set(events.AllowedChannels, "24-25")
			j.hub("H1", m(0, 0, 0), "1")
			j.hub("H2", m(60, 0, 0), "1") // each hears the other rather more likely than not
			j.survey("08:30", "1", 2, events.AccessPoint{Channel: 11, Width: 20, RSSI: -40}, events.AccessPoint{Channel: 11, Width: 20, RSSI: -40})
		}, apart, []int{24, 25}, spectrum.Predicted},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := newJob(t)
			c.tell(j)
			p := j.plan(c.opts)
			require.Equal(t, c.want, channels(p), "%v", p.Notes)
			require.Equal(t, c.basis, p.Basis)
			require.True(t, p.Exact)
		})
	}
}

// pairedOn lists hubs next to each other with a device paired on each.
func pairedOn(j *job, channel int, hubs ...events.HubID) {
	for i, h := range hubs {
		j.hub(h, m(float64(10*i), 0, 0), "")
		j.channel(h, channel)
		j.pair(h, j.list(h, 1, m(float64(10*i), 2, 0), "")...)
	}
}

func TestWhatIsDisturbedIsCounted(t *testing.T) {
	j := newJob(t)
	for _, h := range []events.HubID{"H1", "H2"} {
		j.hub(h, m(0, 0, 0), "1")
		j.list(h, 3, m(1, 0, 0), "1")
	}
	j.survey("08:30", "1", 0, loud(11))
	p := j.plan(plain)
	require.Equal(t, int64(8000), p.NowCost, "all eight hear the other system, both being on 25")
	require.Zero(t, p.Cost)
	require.Equal(t, int64(4000), p.Hubs[0].NowCost)
	disturbed := map[int]int64{}
	for _, w := range p.Hubs[1].Wifi {
		disturbed[w.Channel] = w.Disturbed
	}
	require.Len(t, disturbed, 16)
	for ch, n := range disturbed {
		want := int64(0)
		if ch >= 21 && ch <= 24 { // 2455 to 2470; Wi-Fi 11 covers 2452 to 2472
			want = 4000
		}
		require.Equal(t, want, n, "channel %d", ch)
	}
	require.Equal(t, 2, p.Fewest.Span+1)
}

// Who counts as a member: seven stand on the schedule beside the hub, of which four
// share its channel. All hear the other system, a hub that counts as one.
func TestOnlyWhatIsOnTheMeshCounts(t *testing.T) {
	j := newJob(t)
	j.hub("H1", m(0, 0, 0), "")
	j.hub("H2", m(1, 0, 0), "")
	j.hub("H3", m(1, 0, 0), "")
	j.say("08:15", events.HubStruck{Hub: "H3"})
	for tag, d := range map[events.Tag]events.DeviceListed{
		"counts":     {Is: events.Dimmer, Radio: events.Mesh},
		"sleeps":     {Is: events.Sensor, Radio: events.Mesh, Power: events.Battery},
		"no place":   {Is: events.Dimmer, Radio: events.Mesh},
		"star":       {Is: events.Dimmer, Radio: events.Star},
		"wired":      {Is: events.WiredRemote, Radio: events.Mesh},
		"struck":     {Is: events.Dimmer, Radio: events.Mesh},
		"went to H2": {Is: events.Dimmer, Radio: events.Mesh},
	} {
		d.Device, d.Hub = tag, "H1"
		if d.Power == "" {
			d.Power = events.Mains
		}
		if tag != "no place" {
			d.Place = m(0, 1, 0)
		}
		j.say("08:10", d)
	}
	j.say("08:15", events.DeviceStruck{Device: "struck"})
	p := j.plan(plain)
	require.Len(t, p.Hubs, 2)
	require.InDelta(t, 6000, p.NowCost, 3, "the hub and four devices on H1, and H2")
	j.pair("H2", "went to H2")
	p = j.plan(plain)
	require.InDelta(t, 6000, p.NowCost, 3, "it has gone over")
	require.True(t, p.Hubs[1].Kept)
	require.False(t, p.Hubs[0].Kept)
}

// A large system is listened for at members from all over it: of 300 in a row half
// are out of hearing, though the first 200 are not.
func TestALargeSystemIsPickedFromEvenly(t *testing.T) {
	j := newJob(t)
	j.hub("H1", m(0, 0, 0), "")
	j.list("H1", 199, m(0, 0, 0), "")
	j.list("H1", 200, m(900_000, 0, 0), "")
	j.hub("H2", m(1, 0, 0), "")
	require.InDelta(t, 201_000, j.plan(plain).NowCost, 3000)
}

// Where some have places, what is assumed of the rest weighs as those do.
func TestWhatIsAssumedWeighsAsTheRest(t *testing.T) {
	j := newJob(t)
	for _, h := range []events.HubID{"H1", "H2"} {
		j.hub(h, m(0, 0, 0), "")
		j.list(h, 9, m(1, 0, 0), "")
	}
	j.hub("H3", nowhere, "")
	require.InDelta(t, 60_000, j.plan(plain).NowCost, 20, "20 devices hear each other; and so with each of the other two pairs")
}

// In 2 MHz of 20 there is a tenth of the power, 10 dB less; of 40 MHz 13 dB less.
// The noise by default is −101 dBm (computed: −174 + 10 log 2e6 + 10), so at −91 dBm
// in 20 MHz it is as likely as not to be above it.
func TestWifiIsWeighedByWhatFallsIntoTheChannel(t *testing.T) {
	for _, c := range []struct {
		name  string
		ap    events.AccessPoint
		least int64
		most  int64
	}{
		{"20 MHz at the noise", events.AccessPoint{Channel: 6, Width: 20, RSSI: -91}, 480, 520},
		{"40 MHz at the noise", events.AccessPoint{Channel: 6, Width: 40, RSSI: -88}, 480, 520},
		{"one σ of 10 dB above", events.AccessPoint{Channel: 6, Width: 20, RSSI: -81}, 825, 855},
		{"one σ below", events.AccessPoint{Channel: 6, Width: 20, RSSI: -101}, 145, 175},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := newJob(t)
			j.hub("H1", m(0, 0, 0), "1")
			j.survey("08:30", "1", 0, c.ap)
			for _, w := range j.plan(plain).Hubs[0].Wifi {
				if w.Channel == 17 { // 2435 MHz, Wi-Fi 6 is at 2437
					require.GreaterOrEqual(t, w.Disturbed, c.least)
					require.LessOrEqual(t, w.Disturbed, c.most)
				}
			}
		})
	}
}

func TestAMoveTellsItsCost(t *testing.T) {
	j := newJob(t)
	j.set(events.PushMinutes, "7")
	pairedOn(j, 20, "H1", "H2")
	p := j.plan(move)
	require.NotEqual(t, 20, p.Hubs[0].Plan)
	require.Contains(t, p.Hubs[0].Moves[0], "1 device is paired on 20")
	require.Contains(t, p.Hubs[0].Moves[1], "7 min")
	require.Contains(t, p.Hubs[0].Moves[2], "ready again")
	require.Empty(t, p.Hubs[1].Moves)
	require.False(t, p.Hubs[0].Kept)

	j = newJob(t)
	j.hub("H1", m(0, 0, 0), "1")
	j.channel("H1", 25)
	j.survey("08:30", "1", 0, loud(13))
	p = j.plan(plain)
	require.Contains(t, p.Hubs[0].Moves[0], "no device is paired")
	require.Contains(t, p.Hubs[0].Why, "its present channel, 25, 1.0 device would be disturbed")
}

func TestNotesTellWhatIsNotKnown(t *testing.T) {
	for _, c := range []struct {
		name string
		tell func(j *job)
		opts spectrum.Options
		want string
		not  string
	}{
		{"no hubs", func(*job) {}, plain, "nothing to plan", ""},
		{"no survey", func(j *job) { j.hub("H1", nowhere, "") }, plain, "no Wi-Fi was surveyed", ""},
		{"a floor not surveyed", func(j *job) {
			j.hub("H1", nowhere, "2")
			j.survey("08:30", "1", 0)
		}, plain, "around 1 hub or device nothing is known", ""},
		{"no places at all", func(j *job) { j.hub("H1", nowhere, ""); j.hub("H2", nowhere, "") }, plain, "no places at all", "between hubs:"},
		{"no place of one", func(j *job) {
			j.hub("H1", nowhere, "")
			j.hub("H2", m(0, 0, 0), "")
			j.hub("H3", m(1, 0, 0), "")
		}, plain, "no places of H1", ""},
		{"the model", func(j *job) { pairedOn(j, 20, "H1", "H2") }, plain, "ITU-R P.1238-10, office", ""},
		{"some places", func(j *job) {
			pairedOn(j, 20, "H1", "H2")
			j.list("H2", 1, nowhere, "")
		}, plain, "some devices of H2 have no place", ""},
		{"no two hear each other", func(j *job) {
			j.hub("H1", m(0, 0, 0), "")
			j.hub("H2", m(9000, 0, 0), "")
		}, plain, "no two hubs are likely to hear each other", ""},
		{"in use and not allowed, stays", func(j *job) {
			j.set(events.AllowedChannels, "15")
			pairedOn(j, 20, "H1")
		}, plain, "H1 stays on 20, which is not allowed", ""},
		{"in use and not allowed, moves", func(j *job) {
			j.set(events.AllowedChannels, "15")
			j.hub("H1", nowhere, "")
			j.channel("H1", 20)
		}, plain, "H1 is on 20, which is not allowed", "stays"},
		{"no mesh channel", func(j *job) { pairedOn(j, 3, "H1") }, plain, "H1 is logged on 3, which is no mesh channel", ""},
		{"paired, and no channel logged", func(j *job) {
			j.hub("H1", nowhere, "")
			j.pair("H1", j.list("H1", 1, nowhere, "")...)
		}, plain, "taken to be on 25", ""},
		{"26 in North America", func(j *job) { j.set(events.Region, "US"); j.hub("H1", nowhere, "") }, plain, "channel 26 is left out", ""},
		{"26 elsewhere", func(j *job) { j.hub("H1", nowhere, "") }, plain, "", "26"},
		{"26 in use", func(j *job) { j.set(events.Region, "US"); pairedOn(j, 26, "H1") }, plain, "H1 is on 26, which in North America", ""},
		{"26 as the last", func(j *job) {
			j.set(events.Region, "CA")
			j.set(events.AllowedChannels, "26")
			j.hub("H1", nowhere, "")
		}, plain, "channel 26 is planned for because nothing else is left", ""},
		{"star only", func(j *job) {
			j.say("08:05", events.HubListed{Hub: "H9", Radio: events.Star})
			j.hub("H1", nowhere, "")
		}, plain, "H9 not planned for", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := newJob(t)
			c.tell(j)
			all := ""
			for _, n := range j.plan(c.opts).Notes {
				all += n + "\n"
			}
			require.Contains(t, all, c.want)
			if c.not != "" {
				require.NotContains(t, all, c.not)
			}
		})
	}
}
