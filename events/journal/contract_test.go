package journal_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
)

func TestContractOnDisk(t *testing.T) {
	journaltest.Run(t, func(t *testing.T) journaltest.Fixture {
		return fixture(t, journal.Dir(t.TempDir()), journal.Dir(t.TempDir()))
	})
}

func TestContractInMemory(t *testing.T) {
	journaltest.Run(t, func(t *testing.T) journaltest.Fixture {
		return fixture(t, journal.Memory(), journal.Memory())
	})
}

// Both folders may stand in one.
func TestContractWithinOneFolder(t *testing.T) {
	journaltest.Run(t, func(t *testing.T) journaltest.Fixture {
		home := journal.Memory()
		require.NoError(t, home.Mkdir("sites/one"))
		return fixture(t, journal.Within(home, "sites/one"), journal.Within(home, "marks"))
	})
}

func fixture(t *testing.T, site, marks journal.FS) journaltest.Fixture {
	open := func(t *testing.T) *journal.Journal {
		j, err := journal.Open(site, marks, journaltest.Site(), newLaptop().env())
		require.NoError(t, err)
		require.Empty(t, j.Problems())
		return j
	}
	j := open(t)
	t.Cleanup(func() { require.NoError(t, j.Close()) })
	return journaltest.Fixture{Store: j, Reopen: func(t *testing.T) journaltest.Store {
		require.NoError(t, j.Close())
		j = open(t)
		return j
	}}
}
