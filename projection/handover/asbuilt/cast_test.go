package asbuilt_test

import (
	"bytes"
	"encoding/csv"
	"strings"
	"sync"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/projection"
	"pairwalk/projection/handover"
	"pairwalk/projection/handover/asbuilt"
	"pairwalk/projection/tale"
	"pairwalk/testdata/handed"
)

// works is the job of the works, told once: nothing here changes it.
var works = sync.OnceValue(handed.Works)

// files are what is written of a history, by name.
func files(t require.TestingT, h *projection.History) map[string][]byte {
	list, err := asbuilt.Files(handover.NewSource(h, projection.Moment{}, nil))
	require.NoError(t, err)
	out := map[string][]byte{}
	for _, f := range list {
		out[f.Name] = f.Content
	}
	require.Len(t, out, len(list))
	return out
}

// rows reads a table as any program would: each row by its header.
func rows(t require.TestingT, file []byte) []map[string]string {
	all, err := csv.NewReader(bytes.NewReader(file)).ReadAll()
	require.NoError(t, err)
	require.NotEmpty(t, all)
	var out []map[string]string
	for _, row := range all[1:] {
		cells := map[string]string{}
		for i, name := range all[0] {
			cells[name] = row[i]
		}
		out = append(out, cells)
	}
	return out
}

// imported is a fresh site that took files in, one after the other.
func imported(t require.TestingT, files ...[]byte) *projection.Site {
	s := tale.New()
	for _, file := range files {
		site := s.Now()
		opt := intake.Options{Site: intake.Listing{Floors: map[events.FloorID]events.FloorListed{}}}
		for _, f := range site.Floors {
			opt.Site.Floors[f.Floor] = f
		}
		if strings.Count(string(file), "\n") == 1 {
			continue // a header alone lists nothing
		}
		sheet, err := intake.Read(bytes.NewReader(file), opt)
		require.NoError(t, err)
		require.Empty(t, sheet.Problems)
		require.Empty(t, sheet.Notes)
		for _, p := range sheet.Diff(opt.Site).Payloads(intake.Accept{}) {
			s.Lead.Say("09:00", p)
		}
	}
	return s.Now()
}

// schedule is what a site lists: hubs and devices that are not struck, of which a kind
// and a hub are known and which no hub is called as.
func schedule(site *projection.Site) (hubs []events.HubListed, devices []events.DeviceListed) {
	for _, h := range site.Hubs {
		if h.Struck == nil {
			hubs = append(hubs, h.HubListed)
		}
	}
	for _, d := range site.Devices {
		_, called := site.Hub(events.HubID(d.Device))
		if d.Struck == nil && d.Is != "" && d.DeviceListed.Hub != "" && !called {
			devices = append(devices, *d.DeviceListed)
		}
	}
	return hubs, devices
}
