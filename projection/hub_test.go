package projection_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
)

func channel(n int) events.HubChannel {
	return events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: n}
}

func TestHubsAreReadyAndLost(t *testing.T) {
	s := tale.New()
	row := s.Lead.Say("08:01", events.HubListed{Hub: "H1", Note: "in the riser"})
	h := hub(t, s.Now(), "H1")
	requireCause(t, row, h.Row)
	require.Nil(t, h.Ready)
	require.Nil(t, h.Lost)
	require.False(t, h.Holding("1-1"))

	loaded := s.Lead.Say("08:02", events.HubLoaded{Hub: "H1", Program: "r1"})
	ready := s.Lead.Say("08:03", events.HubReady{Hub: "H1"})
	h = hub(t, s.Now(), "H1")
	requireCause(t, loaded, h.Loaded)
	requireCause(t, ready, h.Ready)
	require.Equal(t, events.Program("r1"), h.Program)
	require.False(t, h.Holding("1-1"), "a program that lists nothing holds nothing")

	lost := s.Lead.Say("09:00", events.HubLost{Hub: "H1", Why: "no answer"})
	h = hub(t, s.Now(), "H1")
	require.Nil(t, h.Ready)
	requireCause(t, lost, h.Lost)
	require.Equal(t, "no answer", h.LostWhy)

	s.Lead.Say("09:30", events.HubReady{Hub: "H1"})
	h = hub(t, s.Now(), "H1")
	require.NotNil(t, h.Ready)
	require.Nil(t, h.Lost)

	struck := s.Lead.Say("10:00", events.HubStruck{Hub: "H1"})
	requireCause(t, struck, hub(t, s.Now(), "H1").Struck)
	s.Lead.Say("10:01", events.HubListed{Hub: "H1"})
	require.Nil(t, hub(t, s.Now(), "H1").Struck)
}

func TestChannelsAndPairings(t *testing.T) {
	tests := map[string]struct {
		happens func(s *tale.Story)
		changed bool // the hub's
		devices []events.Tag
	}{
		"chosen before pairing": {func(s *tale.Story) {
			s.Lead.Say("08:30", channel(20))
			s.Lead.Say("09:00", paired("1-1", "H1"))
		}, false, nil},
		"changed after pairing": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:10", channel(20))
		}, true, []events.Tag{"1-1"}},
		"and back again": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:10", channel(20))
			s.Lead.Say("09:20", channel(15))
		}, false, nil},
		"one paired in between, and back": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:10", channel(20))
			s.Lead.Say("09:15", paired("1-2", "H1"))
			s.Lead.Say("09:20", channel(15))
		}, true, []events.Tag{"1-2"}},
		"one paired after": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:10", channel(20))
			s.Lead.Say("09:15", paired("1-2", "H1"))
		}, true, []events.Tag{"1-1"}},
		"a push follows": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:10", channel(20))
			s.Lead.Say("09:20", events.PushDone{Hub: "H1", Program: "r1"})
		}, false, nil},
		"a push that one misses": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:00", paired("1-2", "H1"))
			s.Lead.Say("09:10", channel(20))
			s.Lead.Say("09:20", events.PushDone{Hub: "H1", Program: "r1", Missed: []events.Tag{"1-2"}})
		}, false, []events.Tag{"1-2"}},
		"another radio's channel": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:10", events.HubChannel{Hub: "H1", Radio: events.Star, Channel: 3})
		}, false, nil},
		"the same again": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:10", channel(15))
		}, false, nil},
		"unpaired since": {func(s *tale.Story) {
			s.Lead.Say("09:00", paired("1-1", "H1"))
			s.Lead.Say("09:05", events.DeviceUnpaired{Device: "1-1", Why: "reset"})
			s.Lead.Say("09:10", channel(20))
		}, false, nil},
	}
	for name, row := range tests {
		t.Run(name, func(t *testing.T) {
			s := job()
			row.happens(s)
			site := s.Now()
			require.Equal(t, row.changed, hub(t, site, "H1").Channels[events.Mesh].Changed != nil)
			var moved []events.Tag
			for i := range site.Devices {
				if site.Devices[i].Has(projection.FlagChannel) {
					moved = append(moved, site.Devices[i].Device)
				}
			}
			require.Equal(t, row.devices, moved)
		})
	}
}

func TestTheFirstChannelLoggedIsTheOneDevicesAreOn(t *testing.T) {
	s := tale.New()
	s.Lead.Say("08:01", events.HubListed{Hub: "H1"})
	s.Lead.Say("08:02", lamp("1-1", "H1"))
	s.Lead.Say("09:00", paired("1-1", "H1"))
	s.Lead.Say("09:10", channel(0)) // IEEE 802.15.4 has a channel 0, below 1 GHz
	require.Nil(t, hub(t, s.Now(), "H1").Channels[events.Mesh].Changed)
	change := s.Lead.Say("09:20", channel(20))
	site := s.Now()
	ch := hub(t, site, "H1").Channels[events.Mesh]
	requireCause(t, change, ch.Changed)
	requireCause(t, change, &ch.Set)
	require.Equal(t, 20, ch.Number)
	require.True(t, device(t, site, "1-1").Has(projection.FlagChannel))
}

func TestAPushedDeviceLeftOnTheOldChannelIsNotPushed(t *testing.T) {
	s := job()
	s.Lead.Say("09:00", paired("1-1", "H1"))
	home(s.Lead, "09:20", "x1", s.Lead)
	s.Lead.Say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
	require.Equal(t, projection.Pushed, device(t, s.Now(), "1-1").State)
	s.Lead.Say("10:00", channel(20))
	d := device(t, s.Now(), "1-1")
	require.Equal(t, projection.Settled, d.State)
	require.True(t, d.Wants(projection.NeedPush))
	s.Lead.Say("10:30", events.PushDone{Hub: "H1", Program: "r1"})
	require.Equal(t, projection.Pushed, device(t, s.Now(), "1-1").State)
}

func TestProgramsAndPushesOfAHub(t *testing.T) {
	s := job()
	s.Lead.Say("08:30", events.HubLoaded{Hub: "H1", Program: "r2", Lists: []events.Tag{"1-1", "1-2"}})
	failed := s.Lead.Say("09:00", events.PushFailed{Hub: "H1", Why: "no answer"})
	h := hub(t, s.Now(), "H1")
	_, done := h.LastPush()
	require.False(t, done)
	require.Equal(t, "no answer", h.Pushes[0].Failed)
	require.Equal(t, failed.Ref(), h.Pushes[0].Ref())

	push := s.Lead.Say("09:10", events.PushDone{Hub: "H1", Program: "r2"})
	s.Lead.Say("09:20", events.PushFailed{Hub: "H1", Why: "no answer"})
	h = hub(t, s.Now(), "H1")
	last, done := h.LastPush()
	require.True(t, done)
	require.Equal(t, push.Ref(), last.Ref())
	require.Len(t, h.Programs, 2)
	require.True(t, h.Programs[0].Holds("9-9"), "r1 lists all")
	require.True(t, h.Holding("1-2"))
	require.False(t, h.Holding("1-3"))
}

func TestWhoWorksOnAHub(t *testing.T) {
	s, bo := duo()
	assigned := s.Lead.Say("09:00", events.HubAssigned{Hub: "H1", Member: bo.Key})
	h := hub(t, s.Now(), "H1")
	assignment := h.Assigned[bo.Key]
	requireCause(t, assigned, &assignment)
	require.NotContains(t, h.Active, bo.Key, "to be put on it is not to have worked on it")

	s.Lead.Say("09:30", events.HubListed{Hub: "H2"})
	s.Lead.Say("09:31", lamp("2-1", "H2"))
	bo.Hear(s.Lead)
	bo.Say("10:00", paired("1-1", "H1"))
	last := bo.Say("10:05", events.DeviceHeard{Device: "1-1", Hub: "H1"})
	bo.Say("10:06", events.NoteAdded{Of: events.Hub("H2"), Text: "saw it in passing"})
	h = hub(t, s.Now(), "H1")
	active := h.Active[bo.Key]
	requireCause(t, last, &active)
	require.NotContains(t, hub(t, s.Now(), "H2").Active, bo.Key)

	asked := s.Lead.Say("10:30", events.MemberAsked{Hub: "H1", Member: bo.Key, Through: tale.T("10:29")})
	s.Lead.Say("10:40", events.HubAssigned{Hub: "H1", Member: bo.Key, Ended: true})
	h = hub(t, s.Now(), "H1")
	require.Empty(t, h.Assigned)
	require.Len(t, h.Asked, 1)
	requireCause(t, asked, &h.Asked[0].Cause)
	require.Equal(t, bo.Key, h.Asked[0].Member)
	require.Equal(t, tale.T("10:29"), h.Asked[0].Through)
}

func TestExportsAndMerges(t *testing.T) {
	s := job()
	export, merge := home(s.Lead, "09:00", "x1", s.Lead)
	forOne := s.Lead.Say("09:10", events.RecordsMerged{Export: "x1", Hub: "H1"})
	site := s.Now()
	require.Len(t, site.Exports, 1)
	x := site.Exports[0]
	requireCause(t, export, &x.Exported)
	require.Len(t, x.MergedFor("H1"), 2)
	require.Len(t, x.MergedFor("H2"), 1)
	require.Equal(t, merge.Ref(), x.MergedFor("H2")[0].Ref())
	require.Equal(t, forOne.Ref(), x.MergedFor("H1")[1].Ref())
}
