package intake_test

import (
	"bytes"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
)

// Whatever the bytes: reading ends, says the same again, and makes rows that an
// event may hold.
func FuzzRead(f *testing.F) {
	for _, seed := range []string{
		"tag,kind,hub\n2-101,dimmer,H1\n",
		"\uFEFFtag;kind;hub;x_m;y_m;was\r\n2-101;sensor;H1;3,5;\"4\";2-1\r\n\r\n;;;\r\n",
		"floor\tlevel\televation_ft\nB1\t-1\t-10.5\n",
		"tag,serial,what,when,by,note\n2-101,S1,paired,14:05,Ilse,\"a \"\"b\"\"\nc\"\n2-101,,refused,-2h..now,,no-answer: x\n",
		"tag,kind,hub,note\n2-101,dimmer,H1,'=1\n2-102,dim\"mer,H1,\n\xff,hub,,=1\n",
		"tag,kind,hub,radio,floor,room,x_mm,y_ft,z_m,circuit,power,emergency,maker,model,type,warranty_start,warranty_months,geometry\n1,hub,,both,2,3,1,2,3,C,,,,,,,,\n2,portable,1,star,2,3,1.5,2,3,C,mains,yes,a,b,c,2026-03-31,60,d\n",
		"tag,what,when\n2-101,fault,\n,,\n", "\"", "a\r", "tag,kind,hub",
		"wall,floor,material,thickness_ft,points\nW1,2,drywall,0.5,\"0 0; 1,5 2; \"\n,2,brick,1,0 0;1 1\n,2,glass,1,1 1; 0 0\n",
		"floor;material;thickness_mm;points_mm\n2;concrete;115;\"0 0; 1,234 9\n-1e5 0\"\n2;steel;0;0,0\n",
		"a,b,rssi_dbm,pdr,lqi,when\n2-101,H1,-71,93 %,255,14:05\nH1,2-101,-71.5,\"0,5\",,\n2-101,2-101,81,2,,\n",
		"a,b,PDR %\n2-101,H1,100\nH1,2-101,%\n",
		"floor,x_m,y_m,channel,width_mhz,rssi_dbm,when\n2,1,1,6,,-50,\n2,1,1,14,40,-60,14:05\n2,1,1,1,,-60,\n2,2,1,1,,loud,\n2,2,1,1,,1,\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		opt := intake.Options{
			Site: intake.Listing{
				Devices: map[events.Tag]events.DeviceListed{"2-101": {Device: "2-101", Hub: "H1", Is: events.Dimmer, Radio: events.Mesh, Power: events.Mains}},
				Floors:  map[events.FloorID]events.FloorListed{"2": {Floor: "2", Level: 2}},
				Hubs:    map[events.HubID]events.HubListed{"H1": {Hub: "H1"}},
				Walls:   map[string]events.WallListed{"W1": {Wall: "W1", Floor: "2", Material: "brick", Thickness: 115, Line: []events.XY{{}, {X: 1000, Y: 1000}}}},
				Links:   []intake.Logged[events.LinkMeasured]{{Payload: events.LinkMeasured{A: "2-101", B: "H1", RSSI: events.Some(-71)}}},
			},
			Region: "EU",
			Now:    time.Date(2026, 3, 2, 16, 0, 0, 0, time.UTC), Tolerance: time.Minute,
		}
		sheet, err := intake.Read(bytes.NewReader(file), opt)
		if err != nil {
			return
		}
		for _, r := range sheet.Rows {
			_, err := events.EncodeBody(r.Payload)
			require.NoError(t, err, "row %d", r.Number)
		}
		for _, p := range sheet.Problems {
			require.NotEmpty(t, p.Wrong)
			require.Positive(t, p.Row)
		}
		again, err := intake.Read(bytes.NewReader(file), opt)
		require.NoError(t, err)
		require.Equal(t, sheet.Rows, again.Rows)
		require.Equal(t, sheet.Problems, again.Problems)

		accept := intake.Accept{Strikes: true, Renames: true}
		diff := sheet.Diff(opt.Site)
		for _, r := range diff.Entries {
			require.Contains(t, sheet.Rows, r)
		}
		for _, p := range diff.Payloads(accept) {
			_, err := events.EncodeBody(p)
			require.NoError(t, err, "%s", p)
		}
	})
}

// An interval never ends before it begins, and a moment is one of its ends when
// nothing is tolerated.
func FuzzParseWhen(f *testing.F) {
	for _, seed := range []string{
		"14:05", "yesterday 17:00", "-2h", "09:40..10:10", "2026-03-02 14:05", "2026-03-02T14:05:00+01:00", "now", "-1h..now",
		"2026-03-29 02:30", "2025-10-26 02:30", "today 0:00", "..", "-", "9999-12-31T23:59:59Z", "0000-01-01 00:00", "4009-01-01 00:00",
	} {
		f.Add(seed)
	}
	now := time.Date(2026, 3, 30, 12, 0, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, text string) {
		vienna := zone(t, "Europe/Vienna")
		v, err := intake.ParseWhen(text, now, vienna, 0)
		if err != nil {
			return
		}
		require.LessOrEqual(t, v.From, v.To)
		wide, err := intake.ParseWhen(text, now, vienna, time.Minute)
		require.NoError(t, err)
		require.LessOrEqual(t, wide.From, v.From)
		require.GreaterOrEqual(t, wide.To, v.To)
		if m, err := intake.ParseMoment(text, now, vienna); err == nil {
			require.Equal(t, events.At(m), v)
		}
	})
}

// Only known tags come out, each once.
func FuzzParseTags(f *testing.F) {
	for _, seed := range []string{"2-101..2-118,2-120", "2-9", "a..b", ",", "..", "2-101..2-9", " 2-9 , 2-101 "} {
		f.Add(seed)
	}
	known := []events.Tag{"2-9", "2-101", "2-118", "2-118a", "2-120", "a", "x..y", "99999999999999999999-1", "007", "7"}
	f.Fuzz(func(t *testing.T, text string) {
		tags, err := intake.ParseTags(text, known)
		if err != nil {
			require.Empty(t, tags)
			return
		}
		require.NotEmpty(t, tags)
		seen := map[events.Tag]bool{}
		for _, tag := range tags {
			require.Contains(t, known, tag)
			require.False(t, seen[tag])
			seen[tag] = true
		}
	})
}

// FuzzReadRecords reads any file as records that came back from the office.
func FuzzReadRecords(f *testing.F) {
	for _, seed := range []string{
		"tag,serial,export,hub,kind\n2-101,SN-A,E1,H1,dimmer\n",
		"\uFEFFPosition;s/n\r\n2-101;'=SN\r\n;\r\n2-102;\r\n", "tag\tserial no\n2-101\t\"a\"\"b\"\n", "tag,serial\n\"2-1\n01\",\xff\n", "tag\n1\n", "\"", "",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		rows, err := intake.ReadRecords(bytes.NewReader(file))
		if err != nil {
			require.Empty(t, rows)
			return
		}
		for _, r := range rows {
			require.Positive(t, r.Number)
			require.True(t, utf8.ValidString(string(r.Tag)+string(r.Serial)+r.Export+string(r.Hub)+r.Kind), "row %d", r.Number)
		}
	})
}
