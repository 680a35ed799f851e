package main

import (
	"io"
	"log/slog"
	"net/http"
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
