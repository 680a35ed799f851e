package events_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

func TestEverySetting(t *testing.T) {
	seen := map[events.SettingKey]bool{}
	for _, s := range events.Settings {
		t.Run(string(s.Key), func(t *testing.T) {
			require.False(t, seen[s.Key], "listed twice")
			seen[s.Key] = true
			require.NoError(t, s.Check(s.Default), "a default passes its own rule")
			require.NotEmpty(t, s.Doc)
			require.ErrorContains(t, s.Check("\x00"), string(s.Key))

			found, ok := events.SettingFor(s.Key)
			require.True(t, ok)
			require.Equal(t, s.Doc, found.Doc)

			set := events.SettingsChanged{Set: map[events.SettingKey]string{s.Key: s.Default}}
			_, err := events.EncodeBody(set)
			require.NoError(t, err, "the way back to the default can be said")
		})
	}
	_, ok := events.SettingFor("mood")
	require.False(t, ok)
}

func TestSettingRules(t *testing.T) {
	for _, c := range []struct {
		key   events.SettingKey
		value string
		ok    bool
	}{
		{events.SettleMinutes, "0", true},
		{events.SettleMinutes, "1440", true},
		{events.SettleMinutes, "1441", false},
		{events.SettleMinutes, "-1", false},
		{events.SettleMinutes, "010", false},
		{events.SettleMinutes, "10.0", false},
		{events.SettleMinutes, " 10", false},
		{events.SettleMinutes, "ten", false},
		{events.SettleMinutes, "", false},
		{events.SettleMinutes, "99999999999999999999", false},
		{events.ClockStep, "0", false},
		{events.UsualChannel, "11", true}, // IEEE 802.15.4: k = 11…26 at 2.4 GHz
		{events.UsualChannel, "26", true},
		{events.UsualChannel, "10", false},
		{events.UsualChannel, "27", false},
		{events.AllowedChannels, "15,20,25-26", true},
		{events.AllowedChannels, "11-26", true},
		{events.AllowedChannels, "26", true},
		{events.AllowedChannels, "10-12", false},
		{events.AllowedChannels, "25-27", false},
		{events.AllowedChannels, "20-15", false},
		{events.AllowedChannels, "", false},
		{events.AllowedChannels, "15,,20", false},
		{events.AllowedChannels, "fifteen", false},
		{events.RadioModel, "p1238-13-corridor-nlos", true},
		{events.RadioModel, "p1238-13-residential", false}, // that edition has no such row
		{events.AntennaGain, "-300", true},
		{events.AntennaGain, "-3001", false},
		{events.PairMinutesOf, "sensor=3,driver=1", true},
		{events.PairMinutesOf, "", true},
		{events.PairMinutesOf, "sensor", false},
		{events.PairMinutesOf, "sensor=0", false},
		{events.PairMinutesOf, "sensor=3,sensor=4", false},
		{events.PairMinutesOf, "lantern=3", false},
		{events.ClockReference, "", true},
		{events.ClockReference, string(ben), true},
		{events.ClockReference, "Ben", false},
	} {
		s, ok := events.SettingFor(c.key)
		require.True(t, ok)
		require.Equal(t, c.ok, s.Check(c.value) == nil, "%s %q", c.key, c.value)
	}
}

// Rule R8 of the trade: at least ten minutes (common practice, no source).
func TestTheSettleDefaultIsTenMinutes(t *testing.T) {
	s, ok := events.SettingFor(events.SettleMinutes)
	require.True(t, ok)
	require.Equal(t, "10", s.Default)
	require.Equal(t, "min", s.Unit)
}

func TestParseChannels(t *testing.T) {
	got, err := events.ParseChannels("25-26, 15,20, 15")
	require.NoError(t, err)
	require.Equal(t, []int{15, 20, 25, 26}, got, "rising, each once")

	all, err := events.ParseChannels("11-26")
	require.NoError(t, err)
	require.Len(t, all, 16) // IEEE 802.15.4-2020 §10.1.3.3, seen in a secondary text
}

func TestParseMinutesOf(t *testing.T) {
	got, err := events.ParseMinutesOf("sensor=3, wall-control=2")
	require.NoError(t, err)
	require.Equal(t, map[events.DeviceKind]int64{events.Sensor: 3, events.WallControl: 2}, got)
}
