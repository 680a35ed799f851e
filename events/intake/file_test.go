package intake_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
)

// read reads a file that is fine as a whole.
func read(t *testing.T, file string, opt ...intake.Options) intake.Sheet {
	t.Helper()
	sheet, err := intake.Read(strings.NewReader(file), append(opt, intake.Options{})[0])
	require.NoError(t, err)
	return sheet
}

// good reads a file with no problem in it.
func good(t *testing.T, file string, opt ...intake.Options) intake.Sheet {
	t.Helper()
	sheet := read(t, file, opt...)
	require.Empty(t, sheet.Problems)
	return sheet
}

// device is the payload of a row, counted from 0.
func device(t *testing.T, s intake.Sheet, n int) events.DeviceListed {
	t.Helper()
	require.Greater(t, len(s.Rows), n)
	p, ok := s.Rows[n].Payload.(events.DeviceListed)
	require.True(t, ok, "row %d is a %s", s.Rows[n].Number, s.Rows[n].Payload.Kind())
	return p
}

// RFC 4180 §2, number by number.
func TestFilesAreCutAsRFC4180Says(t *testing.T) {
	for _, tt := range []struct{ name, file, wantNote string }{
		{"1: records end in CRLF", "tag,kind,hub,note\r\n2-101,dimmer,H1,fine\r\n", "fine"},
		{"2: the last one need not", "tag,kind,hub,note\r\n2-101,dimmer,H1,fine", "fine"},
		{"5: fields may be quoted", `"tag","kind","hub","note"` + "\r\n" + `"2-101","dimmer","H1","fine"`, "fine"},
		{"6: commas inside quotes", "tag,kind,hub,note\r\n2-101,dimmer,H1,\"left, of two\"\r\n", "left, of two"},
		{"6: line breaks inside quotes", "tag,kind,hub,note\r\n2-101,dimmer,H1,\"left\r\nof two\"\r\n", "left\nof two"},
		{"7: quotes inside quotes", "tag,kind,hub,note\r\n2-101,dimmer,H1,\"the \"\"big\"\" one\"\r\n", `the "big" one`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			d := device(t, good(t, tt.file), 0)
			require.Equal(t, events.DeviceListed{
				Device: "2-101", Is: events.Dimmer, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Note: tt.wantNote,
			}, d)
		})
	}
}

func TestSpreadsheetsOfManyCountriesAreRead(t *testing.T) {
	for _, tt := range []struct{ name, file string }{
		{"commas", "tag,kind,hub,x_m,y_m\n2-101,dimmer,H1,\"3,5\",4\n"},
		{"semicolons", "tag;kind;hub;x_m;y_m\n2-101;dimmer;H1;3,5;4\n"},
		{"tabs", "tag\tkind\thub\tx_m\ty_m\n2-101\tdimmer\tH1\t3.5\t4\n"},
		{"byte order mark", "\uFEFFtag,kind,hub,x_m,y_m\n2-101,dimmer,H1,3.5,4\n"},
		{"byte order mark and quotes", "\uFEFF\"tag\",kind,hub,x_m,y_m\n2-101,dimmer,H1,3.5,4\n"},
		{"commas in a heading of a file of semicolons", "tag;kind;hub;x_m;y_m;white, grey, red, blue, or none\n2-101;dimmer;H1;3,5;4;\n"},
		{"other headings", "Position,Device Kind,CONTROLLER,X (m),y-m\n2-101,Dimmer,H1,3.5,4\n"},
		{"one that has more commas", "tag;kind;hub;x_m;y_m;a,b,c,d,e,f,g,h\n2-101;dimmer;H1;3,5;4;\n"},
		{"columns in another order", "y_m,hub,x_m,kind,tag\n4,H1,3.5,dimmer,2-101\n"},
		{"space around cells", " tag , kind ,hub, x_m,y_m\n 2-101,dimmer , H1,\u00a03.5,4\n"},
		{"millimetres", "tag,kind,hub,x_mm,y_mm\n2-101,dimmer,H1,3500,4000\n"},
		{"empty cells and rows at the ends", "tag,kind,hub,x_m,y_m,,\n,,,,,,\n2-101,dimmer,H1,3.5,4,,\n,,,,,,\n"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			d := device(t, good(t, tt.file), 0)
			require.Equal(t, events.Tag("2-101"), d.Device)
			require.Equal(t, events.Some(events.Point{X: 3500, Y: 4000}), d.Place)
		})
	}
}

func TestRowsAreCountedAsASpreadsheetShowsThem(t *testing.T) {
	sheet := good(t, "\n\r\ntag,kind,hub,note\n2-101,dimmer,H1,\"two\nlines\"\n\n,,,\n2-102,dimmer,H1,\n")
	require.Equal(t, []int{4, 7}, []int{sheet.Rows[0].Number, sheet.Rows[1].Number})
}

func TestSheetsAreToldApartByTheirHeader(t *testing.T) {
	for _, tt := range []struct {
		header string
		want   intake.SheetKind
	}{
		{"tag,kind,hub", intake.Schedule},
		{"level,floor", intake.Floors},
		{"floor,level,elevation_ft", intake.Floors},
		{"tag,serial,what,when,by,note", intake.FieldSheet},
		{"when,what,mark", intake.FieldSheet},
		{"tag,kind,hub,floor,level of finish,note", intake.Schedule},
		{"floor,material,thickness_mm,points", intake.Walls},
		{"storey,made of,thick_ft,corners_ft,wall", intake.Walls},
		{"a,b,rssi_dbm", intake.Links},
		{"from,to,rssi,PDR %,LQI,time", intake.Links},
		{"floor,x_m,y_m,channel,width_mhz,rssi_dbm", intake.Survey},
		{"level,x_ft,y_ft,chan,signal (dBm)", intake.Survey},
	} {
		t.Run(tt.header, func(t *testing.T) {
			require.Equal(t, tt.want, read(t, tt.header+"\n1,1,1\n").Kind)
		})
	}
}

func TestFilesThatCannotBeReadSayWhy(t *testing.T) {
	for _, tt := range []struct {
		name, file string
		is         error
		words      string
	}{
		{"empty", "", intake.ErrEmpty, "nothing"},
		{"a byte order mark alone", "\uFEFF \r\n", intake.ErrEmpty, "nothing"},
		{"separators alone", ",,,\n,,,\n", intake.ErrEmpty, "nothing"},
		{"a header alone", "tag,kind,hub\n", intake.ErrEmpty, "below the header"},
		{"another table", "name,phone\nIlse,1234\n", intake.ErrUnknownSheet, "a schedule has tag, kind, hub"},
		{"a column short", "tag,kind\n2-101,dimmer\n", intake.ErrHeader, "no column is called hub"},
		{"two columns short", "tag,floor\n2-101,2\n", intake.ErrHeader, "no column is called "},
		{"one thing twice", "tag,kind,hub,Position\n", intake.ErrHeader, "columns 1 (tag) and 4 (Position) both mean tag"},
		{"one length in two units", "tag,kind,hub,x_m,x_ft\n", intake.ErrHeader, "both mean x"},
		{"a quote in the header", "tag,ki\"nd,hub\n", intake.ErrHeader, "quotation mark"},
		{"a workbook", "PK\x03\x04…", intake.ErrNotText, "it is a workbook"},
		{"an old workbook", "\xd0\xcf\x11\xe0\xa1", intake.ErrNotText, "it is a workbook"},
		{"a walls sheet without points", "floor,material,thickness_mm\n2,brick,115\n", intake.ErrHeader, "no column is called points; it needs floor, material, thickness_mm, points"},
		{"a thickness without a unit", "floor,material,thickness,points\n2,brick,115,0 0; 1 0\n", intake.ErrHeader, "no column is called thickness_mm"},
		{"UTF-16", "\xff\xfet\x00a\x00g\x00", intake.ErrNotText, "UTF-16"},
		{"Latin-1 in the header", "tag,kind,hub,Gerät\xe4\n2-1,dimmer,H1,\n", intake.ErrNotText, "row 1, column 4"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := intake.Read(strings.NewReader(tt.file), intake.Options{})
			require.ErrorIs(t, err, tt.is)
			require.ErrorContains(t, err, tt.words)
		})
	}
	broken := errors.New("the stick was pulled out")
	_, err := intake.Read(iotest.ErrReader(broken), intake.Options{})
	require.ErrorIs(t, err, broken)
}

func TestUnknownColumnsArePassedOverAndSaid(t *testing.T) {
	sheet := good(t, "tag,kind,hub,colour,x\n2-101,dimmer,H1,white,3\n")
	require.Equal(t, []string{
		"row 1, column colour: column 4 is not taken: a schedule has no such column",
		"row 1, column x: column 5 is not taken: it is a length without a unit; end its heading in _m, _mm or _ft",
	}, texts(sheet.Notes))
}

func TestTheColumnsOfAFileAreListed(t *testing.T) {
	sheet := good(t, "y_ft,kind,Controller,mark,x_mm,colour\n1,dimmer,H1,2-101,1,white\n")
	require.Equal(t, []string{"tag", "kind", "hub", "x_m", "y_m"}, sheet.Columns())
}

// All are named, and the first hundred guessed at.
func TestFiveThousandBadRowsAreAllNamed(t *testing.T) {
	var file strings.Builder
	site := intake.Listing{Devices: map[events.Tag]events.DeviceListed{}}
	file.WriteString("tag,what,when\n")
	for i := range 5_000 {
		tag := events.Tag(fmt.Sprintf("2-%d", i))
		site.Devices[tag] = events.DeviceListed{Device: tag, Hub: "H1"}
		fmt.Fprintf(&file, "x-%d,paired,2026-03-02 14:05\n", i)
	}
	sheet := read(t, file.String(), intake.Options{Site: site})
	require.Len(t, sheet.Problems, 5_000)
	require.Equal(t, `row 42, column tag: "x-40" is not on the schedule; did you mean 2-40?`, sheet.Problems[40].String())
	require.Equal(t, `row 5001, column tag: "x-4999" is not on the schedule; list it in the schedule first`, sheet.Problems[4_999].String())
}

func texts(problems []intake.Problem) []string {
	out := make([]string, len(problems))
	for i, p := range problems {
		out[i] = p.String()
	}
	return out
}
