package settle_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/settle"
	"pairwalk/projection/tale"
)

// A journal is asked once when an act came here, however much is judged by it and for
// however many devices: of a large site there are thousands.
func TestEachReceiptIsLookedUpOnce(t *testing.T) {
	d := newDesk()
	bo := d.joins("bo")
	bo.Say("09:00", off("C1")) // before any wait, and asked about for each that is found to begin again
	bo.Say("09:01", on("C1"))
	for _, tag := range []events.Tag{"1-1", "1-2", "1-3", "1-4"} {
		bo.Say("10:00", paired(tag))
	}
	bo.Say("10:02", off("C1"))
	bo.Say("10:03", on("C1"))
	for _, c := range []events.CircuitID{"C2", "C3", "C4"} { // each device on it stays dark
		bo.Say("10:04", off(c))
	}
	d.hears("10:05", bo)
	d.us.Say("10:06", paired("1-5"))
	l := d.attentive(tale.T("10:07"))
	asked, receipt := map[events.Ref]int{}, l.Receipt
	l.Receipt = func(r events.Ref) (events.Stamp, bool) {
		asked[r]++
		return receipt(r)
	}
	judged := settle.All(d.site(), l)
	require.Equal(t, settle.Blocked, judged[0].Verdict)
	require.Contains(t, kinds(judged[0]), settle.PowerOff)
	require.Greater(t, len(asked), 8)
	once := 0
	for _, n := range asked {
		if n == 1 {
			once++
		}
		require.LessOrEqual(t, n, 2, "the last act of a colleague also tells how fresh their log is")
	}
	require.GreaterOrEqual(t, once, len(asked)-1)
}
