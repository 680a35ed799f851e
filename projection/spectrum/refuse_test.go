package spectrum_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/spectrum"
)

func TestARefusalSaysWhatToGiveUp(t *testing.T) {
	row := func(j *job, hubs ...events.HubID) {
		for i, h := range hubs {
			j.hub(h, m(float64(10*i), 0, 0), "")
		}
	}
	for _, c := range []struct {
		name string
		tell func(j *job)
		want spectrum.Clash
		says []string
		not  []string
	}{
		{"too few channels", func(j *job) {
			j.set(events.AllowedChannels, "15,20")
			row(j, "H1", "H2", "H3")
		}, spectrum.Clash{Allowed: []int{15, 20}, Needed: 3, Least: 3, Proved: true, More: true},
			[]string{"2 allowed (15 and 20), 3 needed", "let some share"}, []string{"paired"}},
		{"two that stay", func(j *job) { pairedOn(j, 20, "H1", "H2") },
			spectrum.Clash{Needed: 2, Least: 2, Proved: true, Stay: []events.HubID{"H1", "H2"}, Pair: [2]events.HubID{"H1", "H2"}, Shared: 20},
			[]string{"H1 and H2 both stay on 20", "let hubs with paired devices move (H1 and H2)"}, []string{"allow more"}},
		{"it takes both", func(j *job) {
			j.set(events.AllowedChannels, "20")
			pairedOn(j, 20, "H1", "H2")
		}, spectrum.Clash{Allowed: []int{20}, Needed: 2, Least: 2, Proved: true, Stay: []events.HubID{"H1", "H2"}, Both: true, Pair: [2]events.HubID{"H1", "H2"}, Shared: 20},
			[]string{"both allow more channels", "2 needed"}, nil},
		{"either would do", func(j *job) {
			j.set(events.AllowedChannels, "15,20")
			row(j, "H1", "H2")
			j.channel("H1", 20)
			j.pair("H1", j.list("H1", 1, m(0, 1, 0), "")...)
			j.hub("H3", m(150, 0, 0), "")
			j.channel("H3", 15)
			j.pair("H3", j.list("H3", 1, m(60, 0, 0), "")...)
		}, spectrum.Clash{Allowed: []int{15, 20}, Proved: true, More: true},
			[]string{"allow more channels"}, nil},
		{"more than the band has", func(j *job) {
			for i := range 17 {
				j.hub(events.HubID("H"+string(rune('a'+i))), nowhere, "")
			}
		}, spectrum.Clash{Needed: 17, Least: 17, Proved: true}, []string{"let some share"}, []string{"allow more", "move"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := newJob(t)
			c.tell(j)
			_, err := spectrum.For(j.Now(), apart)
			var clash *spectrum.Clash
			require.ErrorAs(t, err, &clash)
			t.Log(err)
			require.Equal(t, c.want.Proved, clash.Proved)
			require.Equal(t, c.want.More, clash.More)
			require.Equal(t, c.want.Both, clash.Both)
			require.Equal(t, c.want.Shared, clash.Shared)
			require.Equal(t, c.want.Pair, clash.Pair)
			if c.want.Allowed != nil {
				require.Equal(t, c.want.Allowed, clash.Allowed)
			}
			if c.want.Needed != 0 {
				require.Equal(t, c.want.Needed, clash.Needed)
				require.Equal(t, c.want.Least, clash.Least)
				require.Equal(t, c.want.Stay, clash.Stay)
			}
			for _, s := range c.says {
				require.Contains(t, err.Error(), s)
			}
			for _, s := range c.not {
				require.NotContains(t, err.Error(), s)
			}
			require.Positive(t, clash.Cost)
			if _, err := spectrum.For(j.Now(), plain); err != nil {
				t.Errorf("sharing is always left: %v", err)
			}
		})
	}
}
