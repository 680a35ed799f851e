package main

import (
	"io"
	"log/slog"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A relay whose cluster keeps it waiting says so to whoever looks after it.
func TestHealthBeforeThereIsARelay(t *testing.T) {
	c := relayRunCmd{}
	c.Status = "127.0.0.1:0"
	s, err := c.status(slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	asks := func() (int, string) {
		resp, err := http.Get("http://" + s.at() + "/healthz")
		require.NoError(t, err)
		defer resp.Body.Close()
		b, err := io.ReadAll(resp.Body)
		require.NoError(t, err)
		return resp.StatusCode, string(b)
	}
	code, words := asks()
	require.Equal(t, http.StatusServiceUnavailable, code)
	require.Contains(t, words, "starting")
	s.shows(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, "of the relay") }))
	code, words = asks()
	require.Equal(t, http.StatusOK, code)
	require.Equal(t, "of the relay", words)
	require.NoError(t, s.close())
}

// A command that a cluster keeps waiting says why, in words alone.
func TestACommandSaysThatItWaits(t *testing.T) {
	var said strings.Builder
	a := app{surroundings: surroundings{stderr: &said}}
	a.waitingLog().Info("cluster: nobody answers yet", "error", "refused")
	require.Equal(t, `msg="cluster: nobody answers yet" error=refused`+"\n", said.String())
}
