package intake_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
)

// withLinks is a site of two devices and a hub.
func withLinks(t *testing.T) intake.Options {
	opt := onSite(t)
	opt.Site.Hubs = map[events.HubID]events.HubListed{"H1": {Hub: "H1"}}
	return opt
}

func TestALinkIsRead(t *testing.T) {
	ppm, num := events.Some[int64], events.Some[int]
	for _, tt := range []struct {
		name, file string
		want       events.LinkMeasured
	}{
		{"a level", "a,b,rssi_dbm\n2-101,H1,-71\n", events.LinkMeasured{A: "2-101", B: "H1", RSSI: num(-71)}},
		{"all there is", "a,b,rssi_dbm,pdr,lqi\n2-101,2-102,-71,0.93,211\n", events.LinkMeasured{A: "2-101", B: "2-102", RSSI: num(-71), PDR: ppm(930_000), LQI: num(211)}},
		{"other headings", "From,To,Signal (dBm),Packet delivery ratio,Link quality\nH1,2-101,−80,1,0\n", events.LinkMeasured{A: "H1", B: "2-101", RSSI: num(-80), PDR: ppm(1_000_000), LQI: num(0)}},
		{"per cent", "a,b,pdr\n2-101,H1,93 %\n", events.LinkMeasured{A: "2-101", B: "H1", PDR: ppm(930_000)}},
		{"per cent with a comma", "a,b,pdr\n2-101,H1,\"93,5%\"\n", events.LinkMeasured{A: "2-101", B: "H1", PDR: ppm(935_000)}},
		{"nothing came through", "a,b,pdr\n2-101,H1,0\n", events.LinkMeasured{A: "2-101", B: "H1", PDR: ppm(0)}},
		{"a hundred per cent", "a,b,pdr\n2-101,H1,100%\n", events.LinkMeasured{A: "2-101", B: "H1", PDR: ppm(1_000_000)}},
		{"one per cent under a heading that says so", "a,b,PDR (%)\n2-101,H1,1\n", events.LinkMeasured{A: "2-101", B: "H1", PDR: ppm(10_000)}},
		{"one per cent under a heading in words", "a,b,PDR (per cent)\n2-101,H1,1\n", events.LinkMeasured{A: "2-101", B: "H1", PDR: ppm(10_000)}},
		{"per cent under a heading that says so", "a,b,pdr_percent\n2-101,H1,93 %\n", events.LinkMeasured{A: "2-101", B: "H1", PDR: ppm(930_000)}},
		{"a share with a comma", "a;b;pdr\n2-101;H1;0,875\n", events.LinkMeasured{A: "2-101", B: "H1", PDR: ppm(875_000)}},
		{"a share to the millionth", "a,b,pdr\n2-101,H1,0.9999996\n", events.LinkMeasured{A: "2-101", B: "H1", PDR: ppm(1_000_000)}},
		{"a mean level, to the nearest", "a,b,rssi_dbm\n2-101,H1,-71.5\n", events.LinkMeasured{A: "2-101", B: "H1", RSSI: num(-72)}},
		{"the weakest level there is", "a,b,rssi_dbm,lqi\n2-101,H1,-174,255\n", events.LinkMeasured{A: "2-101", B: "H1", RSSI: num(-174), LQI: num(255)}},
		{"the strongest without a word", "a,b,rssi_dbm\n2-101,H1,20\n", events.LinkMeasured{A: "2-101", B: "H1", RSSI: num(20)}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			sheet := good(t, tt.file, withLinks(t))
			require.Equal(t, intake.Links, sheet.Kind)
			require.Equal(t, []intake.Row{{Number: 2, Payload: tt.want}}, sheet.Rows)
			require.Empty(t, sheet.Notes)
			_, err := events.EncodeBody(tt.want)
			require.NoError(t, err)
		})
	}
}

func TestBadLinks(t *testing.T) {
	for _, tt := range []struct {
		name, row string // a, b, rssi_dbm, pdr, lqi, when
		want      string
	}{
		{"no sender", ",H1,-71,,,", "row 2, column a: is empty; write the tag of a device, or a hub"},
		{"no receiver", "2-101,,-71,,,", "row 2, column b: is empty; write the tag of a device, or a hub"},
		{"an unknown tag", "2-110,H1,-71,,,", `row 2, column a: "2-110" is neither a device on the schedule nor a hub; did you mean 2-101?`},
		{"an unknown hub", "2-101,h1,-71,,,", `row 2, column b: "h1" is neither a device on the schedule nor a hub; did you mean H1?`},
		{"nothing like it", "2-101,kitchen,-71,,,", `row 2, column b: "kitchen" is neither a device on the schedule nor a hub; list it in the schedule first`},
		{"to itself", "2-101,2-101,-71,,,", `row 2, column b: "2-101" is the same as a; write the one that sent as a, and the one that heard it as b`},
		{"nothing measured", "2-101,H1,,,,", "row 2: says nothing of the link; write at least one of rssi_dbm, pdr and lqi"},
		{"too weak to be", "2-101,H1,-175,,,", `row 2, column rssi_dbm: "-175" is not between -174 and 80 dBm; write dBm, such as -71`},
		{"too strong to be", "2-101,H1,81,,,", `row 2, column rssi_dbm: "81" is not between -174 and 80 dBm; write dBm, such as -71`},
		{"with its unit", "2-101,H1,-71 dBm,,,", `row 2, column rssi_dbm: "-71 dBm" is not a number: write it like 12.5, without a unit and without signs between thousands; write dBm, such as -71`},
		{"a level with thousands", "2-101,H1,-71.234,,,", `row 2, column rssi_dbm: "-71.234" may be a fraction or thousands: write 71234 or 71.2340; write dBm, such as -71`},
		{"per cent without saying so", "2-101,H1,,93,,", `row 2, column pdr: "93" is more than 1; write 93 % if that is meant, or a share such as 0.93`},
		{"more than all", "2-101,H1,,101 %,,", `row 2, column pdr: "101 %" is not between 0 and 1, or 0 % and 100 %; write 0.93 or 93 %`},
		{"millionths", "2-101,H1,,930000,,", `row 2, column pdr: "930000" is more than 1; write 0.93 or 93 %`},
		{"less than nothing", "2-101,H1,,-0.1,,", `row 2, column pdr: "-0.1" is not between 0 and 1, or 0 % and 100 %; write 0.93 or 93 %`},
		{"a share in words", "2-101,H1,,most,,", `row 2, column pdr: "most" is not a number: write it like 12.5, without a unit and without signs between thousands; write 0.93 or 93 %`},
		{"a sign alone", "2-101,H1,,%,,", `row 2, column pdr: "" is not a number: write it like 12.5, without a unit and without signs between thousands; write 0.93 or 93 %`},
		{"an octet and more", "2-101,H1,,,256,", `row 2, column lqi: "256" is not a whole number from 0 to 255`},
		{"below nothing", "2-101,H1,,,-1,", `row 2, column lqi: "-1" is not a whole number from 0 to 255`},
		{"a time that is none", "2-101,H1,-71,,,noonish", `row 2, column when: "noonish" is no time: write 14:05, yesterday 17:00, -2h, 2026-03-02 14:05 or 2026-03-02T14:05:00+01:00`},
		{"a time to come", "2-101,H1,-71,,,2026-03-04 10:00", `row 2, column when: "2026-03-04 10:00" is still to come, as it is 09:00 on 2026-03-03: write the day too if you mean an earlier one`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			sheet := read(t, "a,b,rssi_dbm,pdr,lqi,when\n"+tt.row+"\n", withLinks(t))
			require.Equal(t, []string{tt.want}, texts(sheet.Problems))
			require.Empty(t, sheet.Rows)
		})
	}
}

func TestALevelWithoutItsMinusIsSaid(t *testing.T) {
	sheet := good(t, "a,b,rssi_dbm\n2-101,H1,71\n", withLinks(t))
	require.Equal(t, []string{"row 2, column rssi_dbm: 71 dBm is more than a radio sends; was a minus left out?"}, texts(sheet.Notes))
	require.Len(t, sheet.Rows, 1)
}

// logged is what the log has after the entries of a diff.
func logged(site intake.Listing, d intake.Diff) intake.Listing {
	for _, r := range d.Entries {
		switch p := r.Payload.(type) {
		case events.LinkMeasured:
			site.Links = append(site.Links, intake.Logged[events.LinkMeasured]{Payload: p, When: r.When})
		case events.WifiSurveyed:
			site.Surveys = append(site.Surveys, intake.Logged[events.WifiSurveyed]{Payload: p, When: r.When})
		}
	}
	return site
}

// Each file is imported into what the first one left in the log.
func TestLinksAreLoggedOnce(t *testing.T) {
	const first = "a,b,rssi_dbm,when\n2-101,H1,-71,14:05\nH1,2-101,-71,14:05\n2-102,H1,-80,\n"
	for _, tt := range []struct {
		name, file string
		want       []string
	}{
		{"the same file", first, []string{"3 the same, 1 of them without a time: write when, if they were measured again"}},
		{"its columns in another order", "when,b,rssi_dbm,a\n14:05,H1,-71.0,2-101\n", []string{"1 the same"}},
		{"the same time in other words", "a,b,rssi_dbm,when\n2-101,H1,-71,2026-03-02 14:05\n", []string{"1 the same"}},
		{"another level", "a,b,rssi_dbm,when\n2-101,H1,-72,14:05\n", []string{"log: measured 2-101 to H1: -72 dBm (row 2)", "0 the same"}},
		{"another time", "a,b,rssi_dbm,when\n2-101,H1,-71,14:06\n", []string{"log: measured 2-101 to H1: -71 dBm (row 2)", "0 the same"}},
		{"something more of it", "a,b,rssi_dbm,pdr,when\n2-101,H1,-71,0.5,14:05\n", []string{"log: measured 2-101 to H1: -71 dBm, 50.0 % delivered (row 2)", "0 the same"}},
		{"a time for what had none", "a,b,rssi_dbm,when\n2-102,H1,-80,14:05\n", []string{"log: measured 2-102 to H1: -80 dBm (row 2)", "0 the same"}},
		{"no time for what had one", "a,b,rssi_dbm\n2-101,H1,-71\n", []string{"log: measured 2-101 to H1: -71 dBm (row 2)", "0 the same"}},
		{"one thing twice in a file", "a,b,rssi_dbm,when\n2-101,H1,-60,15:00\n2-101,H1,-60,15:00\n", []string{"log: measured 2-101 to H1: -60 dBm (row 2)", "1 the same"}},
		{"an LQI alone", "a,b,lqi\n2-101,H1,200\n", []string{"log: measured 2-101 to H1 (row 2)", "0 the same"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			opt := withLinks(t)
			before := good(t, first, opt).Diff(opt.Site)
			require.Len(t, before.Entries, 3)
			require.False(t, before.Empty())
			require.Empty(t, before.Payloads(intake.Accept{Strikes: true, Renames: true}))
			site := logged(opt.Site, before)
			opt.Site, opt.Tolerance = site, 7*time.Minute // a setting that has changed since
			diff := good(t, tt.file, opt).Diff(site)
			require.Equal(t, tt.want, strings.Split(strings.TrimSpace(diff.String()), "\n"))
		})
	}
}
