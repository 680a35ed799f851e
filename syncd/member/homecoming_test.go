package member_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/syncd/member"
)

// sheetOf is the records as the office gets them, and back answers for a sheet.
func sheetOf(t *testing.T, r member.Records) string {
	var file bytes.Buffer
	require.NoError(t, r.CSV(&file))
	return file.String()
}

func back(t *testing.T, d *device, sheet string) member.Homecoming {
	rows, err := intake.ReadRecords(strings.NewReader(sheet))
	require.NoError(t, err)
	return d.RecordsBack(rows)
}

func TestRecordsHome(t *testing.T) {
	_, ada, ben := pairOf(t)
	ada.log(events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "S1"}, events.DevicePaired{Device: "1-002", Hub: "H1", Serial: "S2"}, events.DevicePaired{Device: "2-001", Hub: "H2", Serial: "=1+1"})
	out, err := ada.Records()
	require.NoError(t, err)
	require.Len(t, out.Pairings.Rows, 3)
	require.Empty(t, ada.Now().Exports, "nothing is said to be exported before the sheet is in its place")
	heads := ada.Now().Heads
	ada.log(events.DevicePaired{Device: "1-003", Hub: "H1", Serial: "S3"})
	_, err = ada.Exported(t.Context(), out)
	require.NoError(t, err)
	export := ada.Now().Exports[0]
	require.Equal(t, heads, export.Heads)
	first, _ := ada.Now().Device("1-001")
	require.True(t, export.Covers(first.Paired.Ref()))
	require.Equal(t, first.Paired.Ref().String(), out.Pairings.Rows[0][len(out.Pairings.Header)-1])
	late, _ := ada.Now().Device("1-003")
	require.False(t, export.Covers(late.Paired.Ref()), "a pairing made after the rows is not covered")
	require.Len(t, out.Covers.Rows, len(heads))
	for _, row := range out.Covers.Rows {
		head := heads[events.FeedID(row[3])]
		require.Equal(t, []string{out.Export, head.Hash.String()}, []string{row[0], row[4]})
	}
	sheet := sheetOf(t, out)
	require.NotContains(t, sheet, ",=1+1", "no formula for a spreadsheet")

	_, err = ben.Merged(t.Context(), "", "", member.Entry{})
	require.ErrorContains(t, err, "no records were exported yet")
	_, err = ada.Merged(t.Context(), "X-none", "", member.Entry{})
	require.ErrorIs(t, err, member.ErrUnknown)
	_, err = ada.Merged(t.Context(), out.Export, "", member.Entry{})
	require.NoError(t, err)
	require.Len(t, ada.Now().Exports[0].Merged, 1)
}

func TestTheOfficesRowsAgainstTheField(t *testing.T) {
	_, ada, _ := pairOf(t)
	ada.log(events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "S1"}, events.DevicePaired{Device: "1-002", Hub: "H1", Serial: "S2"}, events.DevicePaired{Device: "2-001", Hub: "H2", Serial: "S4"})
	out, err := ada.Records()
	require.NoError(t, err)
	_, err = ada.Exported(t.Context(), out)
	require.NoError(t, err)
	sheet := sheetOf(t, out)
	require.Equal(t, member.Homecoming{Export: out.Export, Same: 3, Differences: []member.Difference{}}, back(t, ada, sheet))
	kind := out.Pairings.Rows[0][2]
	other := map[bool]string{true: "relay", false: "sensor"}[kind == "sensor"]

	rows := strings.SplitAfter(strings.TrimSuffix(sheet, "\r\n"), "\r\n")
	row := rows[1] // of 1-001
	for _, tt := range []struct {
		name, sheet string
		kind        member.DifferenceKind
		tag, words  string
	}{
		{"unknown", strings.Replace(sheet, "1-001", "9-999", 1), member.RowUnknown, "9-999", "is not known in the field"},
		{"unpaired", sheet + "\r\n" + strings.NewReplacer("1-001", "1-003", "S1", "S9").Replace(row), member.RowUnpaired, "1-003", "is not paired"},
		{"another hub", strings.Replace(sheet, row, strings.Replace(row, "H1", "H2", 1), 1), member.RowHub, "1-001", "paired to H1"},
		{"another kind", strings.Replace(sheet, row, strings.Replace(row, ","+kind+",", ","+other+",", 1), 1), member.RowKind, "1-001", "is a " + other},
		{"swapped", strings.NewReplacer(",S1,", ",S2,", ",S2,", ",S1,").Replace(sheet), member.RowSwapped, "1-001", "sits at 1-002"},
		{"another serial", strings.Replace(sheet, ",S1,", ",S77,", 1), member.RowSerial, "1-001", `"S77"`},
		{"missing", strings.Replace(sheet, row, "", 1), member.RowMissing, "1-001", "no row for it"},
		{"twice", sheet + "\r\n" + row, member.RowTwice, "1-001", "row 2"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := back(t, ada, tt.sheet)
			require.False(t, got.Agrees())
			for _, d := range got.Differences {
				if d.Kind == tt.kind && d.Tag == tt.tag {
					require.Contains(t, d.Words, tt.words)
					return
				}
			}
			require.Failf(t, "not found", "%v in %+v", tt.kind, got.Differences)
		})
	}

	ada.log(events.DevicePaired{Device: "1-003", Hub: "H1", Serial: "S3"})
	got := back(t, ada, sheet)
	require.Equal(t, []member.DifferenceKind{member.RowLater}, []member.DifferenceKind{got.Differences[0].Kind})
	require.True(t, got.Agrees(), "what was paired later is for the next export")
	ada.log(events.DeviceUnpaired{Device: "1-001", Why: "reset"})
	got = back(t, ada, sheet)
	require.False(t, got.Agrees())
	require.Equal(t, member.RowUnpaired, got.Differences[0].Kind)
	require.Contains(t, got.Differences[0].Words, "not paired any more")
}
