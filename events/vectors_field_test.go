package events_test

import "pairwalk/events"

// fieldVectors are what people do to hubs and devices.
func fieldVectors() []vector {
	dark := []events.Tag{"2-101", "2-102", "2-118"}
	return []vector{
		{
			full:    events.HubReady{Hub: "H2"},
			minimal: events.HubReady{Hub: "H"},
		}, {
			full:    events.HubLost{Hub: "H2", Why: "no answer since lunch"},
			minimal: events.HubLost{Hub: "H2", Why: "?"},
		}, {
			full:    events.HubChannel{Hub: "H2", Radio: events.Mesh, Channel: 25},
			minimal: events.HubChannel{Hub: "H2", Radio: events.Star, Channel: 0},
		}, {
			full:    events.HubLoaded{Hub: "H2", Program: "r7", Lists: dark},
			minimal: events.HubLoaded{Hub: "H2", Program: "r7"},
			more:    []events.Payload{events.HubLoaded{Hub: "H2", Program: "r7", All: true}},
		}, {
			full:    events.DeviceFitted{Device: "2-114", Serial: "00A1-77", Label: "type S2, lot 14", Source: events.Scanned},
			minimal: events.DeviceFitted{Device: "2-114", Serial: "00A1-77"},
		}, {
			full:    events.DevicePaired{Device: "2-114", Hub: "H2", Serial: "00A1-77", How: events.ByButton},
			minimal: events.DevicePaired{Device: "2-114", Hub: "H2"},
		}, {
			full:    events.DeviceRefused{Device: "2-114", Why: events.OutOfReach, Note: "tried from the stairs"},
			minimal: events.DeviceRefused{Device: "2-114", Why: events.NoAnswer},
		}, {
			full:    events.DeviceSkipped{Device: "2-114", Why: events.NoAccess, Note: "room locked"},
			minimal: events.DeviceSkipped{Device: "2-114", Why: events.Damaged},
		}, {
			full:    events.DeviceUnpaired{Device: "2-114", Why: "reset at the panel"},
			minimal: events.DeviceUnpaired{Device: "2-114", Why: "?"},
		}, {
			full:    events.DeviceReplaced{Device: "2-114", Old: "00A1-77", New: "00A1-91", Why: "cracked lens"},
			minimal: events.DeviceReplaced{Device: "2-114", New: "00A1-91", Why: "cracked lens"},
		}, {
			full:    events.DeviceHeard{Device: "2-114", Hub: "H2", RSSI: events.Some(-68), LQI: events.Some(0)},
			minimal: events.DeviceHeard{Device: "2-114", Hub: "H2"},
		}, {
			full:    events.PowerOff{Of: events.Circuit("C3-7"), Dark: dark},
			minimal: events.PowerOff{Of: events.Device("2-114")},
		}, {
			full:    events.PowerOn{Of: events.Circuit("C3-7")},
			minimal: events.PowerOn{Of: events.Device("2-114")},
		}, {
			full:    events.HoldPlaced{Of: events.Room("2.14"), Why: "ceiling open", Who: "electrician in C3-7"},
			minimal: events.HoldPlaced{Of: events.Hub("H2"), Why: "ask Ada"},
		}, {
			full:    events.HoldLifted{Of: events.Room("2.14"), Note: "ceiling closed"},
			minimal: events.HoldLifted{Of: events.Room("2.14")},
		}, {
			full:    events.RecordsExported{Export: "X-3", Heads: map[events.FeedID]events.Head{adaFeed: {Seq: 12, Hash: hash(12)}, benFeed: {Seq: 6, Hash: hash(6)}}},
			minimal: events.RecordsExported{Export: "X-1", Heads: map[events.FeedID]events.Head{}},
		}, {
			full:    events.RecordsMerged{Export: "X-3", Hub: "H2"},
			minimal: events.RecordsMerged{Export: "X-3"},
		}, {
			full:    events.PushDone{Hub: "H2", Program: "r7", Began: events.Some(minutes(-9)), Tried: dark, Missed: dark[2:]},
			minimal: events.PushDone{Hub: "H2", Program: "r7"},
		}, {
			full:    events.PushFailed{Hub: "H2", Why: "hub rebooted"},
			minimal: events.PushFailed{Hub: "H2", Why: "?"},
		}, {
			full:    events.FaultFound{Of: events.Floor("3"), Symptom: "corridor dark\nsince Tuesday", Severity: events.Major, Trade: "electrical", Owner: "Dee", Action: "check C3-7"},
			minimal: events.FaultFound{Of: events.Device("2-114"), Symptom: "hums", Severity: events.Minor},
		}, {
			full:    events.FaultAssigned{Fault: faultRef(), Trade: "electrical", Owner: "Dee", Action: "swap the breaker"},
			minimal: events.FaultAssigned{Fault: faultRef(), Owner: "Dee"},
		}, {
			full:    events.FaultCleared{Fault: faultRef(), Action: "breaker swapped"},
			minimal: events.FaultCleared{Fault: faultRef()},
		}, {
			full:    events.FaultReopened{Fault: faultRef(), Why: "dark again"},
			minimal: events.FaultReopened{Fault: faultRef(), Why: "?"},
		}, {
			full:    events.CheckDone{Of: events.Room("2.14"), Test: events.TestOccupancy, Reading: "12 min", Instrument: "stopwatch", Limit: "20 min", Pass: true, Note: "blinds down"},
			minimal: events.CheckDone{Of: events.Device("2-114"), Test: events.TestAnswer},
		}, {
			full:    events.WorkSigned{Of: events.Site(), Scope: "floors 1 to 3", Signer: "Ada Example", As: "commissioning lead"},
			minimal: events.WorkSigned{Of: events.Room("2.14"), Scope: "all", Signer: "A", As: "B"},
		}, {
			full:    events.NoteAdded{Of: events.Circuit("C3-7"), Text: "panel label reads C3-8;\n\tit's wrong"},
			minimal: events.NoteAdded{Of: events.Site(), Text: "."},
		}, {
			full:    events.PhotoAdded{Of: events.Device("2-114"), Picture: events.Picture{SHA256: hash(32).String(), Bytes: 91_004, Type: "image/jpeg"}, Caption: "label"},
			minimal: events.PhotoAdded{Of: events.Device("2-114"), Picture: events.Picture{SHA256: hash(32).String(), Bytes: 1, Type: "image/jpeg"}},
		},
	}
}

func faultRef() events.Ref { return events.Ref{Feed: adaFeed, Seq: 9, Hash: hash(9).Short()} }
