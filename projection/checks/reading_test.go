package checks_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/checks"
)

// The usual limits: off within 20 min, on to 50 %, override 2 h; 1 fc, 0.1 fc,
// 40:1. 1 fc = 10.764 lx, so 10.7 lx is just short of 1 fc.
func TestAReadingBeyondTheLimitIsDoubted(t *testing.T) {
	s := office().Now()
	for _, c := range []struct {
		test    events.TestKind
		reading string
		doubts  int
	}{
		{events.TestOccupancy, "off after 14 min", 0},
		{events.TestOccupancy, "off after 20 min", 0},
		{events.TestOccupancy, "off after 20.5 min", 1},
		{events.TestOccupancy, "off after 20,5 min", 1},
		{events.TestOccupancy, "1201 s", 1},
		{events.TestOccupancy, "1200 seconds", 0},
		{events.TestOccupancy, "25 MINUTES", 1},
		{events.TestOccupancy, "1h", 1},
		{events.TestOccupancy, "on to 60 %, off after 25 min", 2},
		{events.TestOccupancy, "on to 50%, off after 5 min", 0},
		{events.TestOccupancy, "dimmed to 80 % after 10 min", 0},
		{events.TestOccupancy, "25", 0},
		{events.TestOccupancy, "off at once, in room 3.12", 0},
		{events.TestOccupancy, "", 0},
		{events.TestTimeSwitch, "override 2 h", 0},
		{events.TestTimeSwitch, "override 121 min", 1},
		{events.TestEgress, "average 1.2 fc, minimum 0.1 fc, 12:1", 0},
		{events.TestEgress, "average 0.9 fc, minimum 0.05 fc, 41:1", 3},
		{events.TestEgress, "average 10.7 lx", 1},
		{events.TestEgress, "average 10.8 lux", 0},
		{events.TestEgress, "0.9 fc average", 1},
		{events.TestEgress, "darkest point 1 lx", 1},
		{events.TestEgress, "0.5 fc at the door", 0},
		{events.TestManual, "99 min", 0},
	} {
		t.Run(string(c.test)+" "+c.reading, func(t *testing.T) {
			p := events.CheckDone{Of: room, Test: c.test, Reading: c.reading, Pass: true}
			require.Len(t, checks.Doubts(s, p), c.doubts)
			p.Limit = checks.LimitWords(checks.LimitsOf(s, room, c.test))
			require.Len(t, checks.Doubts(s, p), c.doubts, "filled in or not")
			p.Pass = false
			require.Empty(t, checks.Doubts(s, p), "who says that it failed is believed")
		})
	}
}

func TestATypedLimitCountsBeforeTheOthers(t *testing.T) {
	s := office().Now()
	p := events.CheckDone{Of: room, Test: events.TestOccupancy, Reading: "off after 25 min", Limit: "30 min", Pass: true}
	require.Empty(t, checks.Doubts(s, p))
	p.Reading = "off after 31 min"
	require.Equal(t, []string{"31 min is beyond the limit: off or down within 30 min (as typed)"}, checks.Doubts(s, p))
	p.Limit = "as the owner likes"
	require.Len(t, checks.Doubts(s, p), 1, "no number in it leaves the usual one")
}

func TestTheLimitsOfADeviceAreThoseOfItsRoom(t *testing.T) {
	s := office()
	s.Lead.Say("08:10", events.TestPlanned{Room: "3.12", Test: events.TestOccupancy, Limits: map[string]int64{checks.OffWithin: 300}})
	words := checks.LimitWords(checks.LimitsOf(s.Now(), events.Device("3-1"), events.TestOccupancy))
	require.Equal(t, "off or down within 5 min, planned; on by itself to at most 50 %, setting auto_on_percent (IECC C405.2.1.1)", words)
	require.Empty(t, checks.LimitWords(checks.LimitsOf(s.Now(), room, events.TestManual)))
}

func TestParseLimit(t *testing.T) {
	for text, want := range map[string]struct {
		name  string
		value int64
	}{
		"off_within=15min":      {checks.OffWithin, 900},
		"off_within = 90 s":     {checks.OffWithin, 90},
		"off_within_s=900":      {checks.OffWithin, 900},
		"off_within_min=15":     {checks.OffWithin, 900},
		"override_within=2h":    {checks.OverrideWithin, 7200},
		"auto_on=40%":           {checks.AutoOn, 40},
		"auto_on_percent=40":    {checks.AutoOn, 40},
		"average=1fc":           {checks.Average, 100},
		"minimum=0.1fc":         {checks.Minimum, 10},
		"average=10.764 lx":     {checks.Average, 100}, // 1 fc = 10.764 lx
		"max_to_min=40":         {checks.MaxToMin, 40},
		"max_to_min=40:1":       {checks.MaxToMin, 40},
		"hold_time_s=-5":        {"hold_time_s", -5},
		"something_of_ours_m=3": {"something_of_ours_m", 3},
	} {
		t.Run(text, func(t *testing.T) {
			name, value, err := checks.ParseLimit(text)
			require.NoError(t, err)
			require.Equal(t, want.name, name)
			require.Equal(t, want.value, value)
		})
	}
	for _, text := range []string{"", "off_within", "off_within=15", "off_within=15 %", "off_within=soon", "off_within=15min or so", "mood=1fc", "auto_on=1.5",
		"off_within=99999999999999999999h", "off_within_h=9000000000000000", "something_m=9007199254740992", "=15"} {
		t.Run("not "+text, func(t *testing.T) {
			_, _, err := checks.ParseLimit(text)
			require.Error(t, err)
		})
	}
}
