package bus

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// The name of a door is frozen: members of every version ask for it. It was worked
// out with: printf 'pairwalk door\n%s' SITE | sha256sum | cut -c1-32
func TestDoor(t *testing.T) {
	site := events.SiteID("aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa")
	require.Equal(t, "21f13f8585d6cc8e9b8c9b760089e44a", Door(site))
	require.NotEqual(t, Door(site), Door(site[1:]+"b"))
}
