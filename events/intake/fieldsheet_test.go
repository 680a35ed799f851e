package intake_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
)

// onSite is the day a field sheet was written, at a site of two devices.
func onSite(t *testing.T) intake.Options {
	return intake.Options{
		Site: intake.Listing{Devices: map[events.Tag]events.DeviceListed{
			"2-101": {Device: "2-101", Hub: "H1"},
			"2-102": {Device: "2-102", Hub: "H2"},
		}},
		Day:       time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC),
		Now:       at(t, "2026-03-03T08:00:00Z"),
		Zone:      zone(t, "Europe/Vienna"),
		Tolerance: 5 * time.Minute,
	}
}

func TestEveryVerbOfAFieldSheet(t *testing.T) {
	for _, tt := range []struct {
		row  string // tag, serial, what, note
		want []events.Payload
	}{
		{"2-101,S1,fitted,", []events.Payload{events.DeviceFitted{Device: "2-101", Serial: "S1", Source: events.OnPaper}}},
		{"2-101,S1,paired,", []events.Payload{events.DevicePaired{Device: "2-101", Hub: "H1", Serial: "S1"}}},
		{"2-102,,Pair,", []events.Payload{events.DevicePaired{Device: "2-102", Hub: "H2"}}},
		{"2-101,,refused,no answer: tried twice", []events.Payload{events.DeviceRefused{Device: "2-101", Why: events.NoAnswer, Note: "tried twice"}}},
		{"2-101,,refused,out-of-reach", []events.Payload{events.DeviceRefused{Device: "2-101", Why: events.OutOfReach}}},
		{"2-101,,refused,blinks red", []events.Payload{events.DeviceRefused{Device: "2-101", Why: events.RefusedOther, Note: "blinks red"}}},
		{"2-101,,refused,", []events.Payload{events.DeviceRefused{Device: "2-101", Why: events.RefusedOther}}},
		{"2-101,,skipped,No access", []events.Payload{events.DeviceSkipped{Device: "2-101", Why: events.NoAccess}}},
		{"2-101,,unpaired,wrong room", []events.Payload{events.DeviceUnpaired{Device: "2-101", Why: "wrong room"}}},
		{"2-101,S2,replaced,cracked", []events.Payload{events.DeviceReplaced{Device: "2-101", New: "S2", Why: "cracked"}}},
		{"2-101,,heard,", []events.Payload{events.DeviceHeard{Device: "2-101", Hub: "H1"}}},
		{"2-101,,fault,danger: bare wire", []events.Payload{events.FaultFound{Of: events.Device("2-101"), Symptom: "bare wire", Severity: events.Danger}}},
		{"2-101,,fault,dark", []events.Payload{events.FaultFound{Of: events.Device("2-101"), Symptom: "dark", Severity: events.Major}}},
		{"2-101,,note,label hidden", []events.Payload{events.NoteAdded{Of: events.Device("2-101"), Text: "label hidden"}}},
		{"2-101,,power off,", []events.Payload{events.PowerOff{Of: events.Device("2-101")}}},
		{"2-101,,power-on,", []events.Payload{events.PowerOn{Of: events.Device("2-101")}}},
		{"2-101,,hold,wet ceiling", []events.Payload{events.HoldPlaced{Of: events.Device("2-101"), Why: "wet ceiling"}}},
		{"2-101,,lift,", []events.Payload{events.HoldLifted{Of: events.Device("2-101")}}},
		{"2-101,S1,paired,label scratched", []events.Payload{
			events.DevicePaired{Device: "2-101", Hub: "H1", Serial: "S1"},
			events.NoteAdded{Of: events.Device("2-101"), Text: "label scratched"},
		}},
	} {
		t.Run(tt.row, func(t *testing.T) {
			sheet := good(t, "when,by,tag,serial,what,note\n14:05,Ilse,"+tt.row+"\n", onSite(t))
			var got []events.Payload
			for _, r := range sheet.Rows {
				_, err := events.EncodeBody(r.Payload)
				require.NoError(t, err)
				require.Equal(t, []any{2, "Ilse", events.Some(events.Interval{
					From: events.InstantOf(at(t, "2026-03-02T13:00:00Z")), To: events.InstantOf(at(t, "2026-03-02T13:10:00Z")),
				})}, []any{r.Number, r.By, r.When})
				got = append(got, r.Payload)
			}
			require.Equal(t, tt.want, got)
		})
	}
}

func TestBadRowsOfAFieldSheet(t *testing.T) {
	for _, tt := range []struct {
		row  string // tag, serial, what, when, note
		want string
	}{
		{"2-110,,paired,14:05,", `row 2, column tag: "2-110" is not on the schedule; did you mean 2-101?`},
		{"kitchen,,paired,14:05,", `row 2, column tag: "kitchen" is not on the schedule; list it in the schedule first`},
		{",,paired,14:05,", `row 2, column tag: is empty; write the tag of the device`},
		{"2-101,,pared,14:05,", `row 2, column what: "pared" is not a thing that is logged of a device; did you mean paired? (fitted, paired, refused, skipped, unpaired, replaced, heard, fault, note, power-off, power-on, hold, lift)`},
		{"2-101,,,14:05,", `row 2, column what: is empty; write one of fitted, paired, refused, skipped, unpaired, replaced, heard, fault, note, power-off, power-on, hold, lift`},
		{"2-101,,paired,,", `row 2, column when: no time: write 14:05, yesterday 17:00, -2h, 2026-03-02 14:05 or 2026-03-02T14:05:00+01:00`},
		{"2-101,,paired,2026-03-04 10:00,", `row 2, column when: "2026-03-04 10:00" is still to come, as it is 09:00 on 2026-03-03: write the day too if you mean an earlier one`},
		{"2-101,,fitted,14:05,", `row 2, column serial: is empty; write what the label of the unit says`},
		{"2-101,,unpaired,14:05,", `row 2, column note: is empty; write why it was unpaired`},
		{"2-101,S1,replaced,14:05,", `row 2, column note: is empty; write why it was replaced`},
		{"2-101,,fault,14:05,minor:", `row 2, column note: says how bad the fault is, and not what is wrong; write it behind the colon`},
	} {
		t.Run(tt.row, func(t *testing.T) {
			sheet := read(t, "tag,serial,what,when,note\n"+tt.row+"\n", onSite(t))
			require.Equal(t, []string{tt.want}, texts(sheet.Problems))
			require.Empty(t, sheet.Rows)
		})
	}
}

func TestASerialWithNoPlaceIsSaid(t *testing.T) {
	sheet := good(t, "tag,serial,what,when\n2-101,S1,refused,14:05\n", onSite(t))
	require.Equal(t, []string{"row 2, column serial: is not taken: refused goes without one"}, texts(sheet.Notes))
}

func TestADaylessSheetIsOfToday(t *testing.T) {
	opt := onSite(t)
	opt.Day = time.Time{}
	sheet := good(t, "tag,what,when\n2-101,heard,08:30\n", opt)
	require.Equal(t, events.InstantOf(at(t, "2026-03-03T07:30:00Z")), sheet.Rows[0].When.Value.Middle())

	opt.Now = time.Time{}
	require.Equal(t, []string{"row 2, column when: \"08:30\" is no time: the day is not known: write the date too, such as 2026-03-02 14:05"},
		texts(read(t, "tag,what,when\n2-101,heard,08:30\n", opt).Problems))
}

func TestAFieldSheetIsNoState(t *testing.T) {
	require.True(t, good(t, "tag,what,when\n2-101,heard,08:30\n", onSite(t)).Diff(onSite(t).Site).Empty())
}
