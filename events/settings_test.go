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
