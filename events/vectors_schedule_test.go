package events_test

import "pairwalk/events"

// scheduleVectors are the schedule, the plan and what was surveyed.
func scheduleVectors() []vector {
	place := events.Some(events.Point{X: 12_500, Y: -3_000, Z: 2_700})
	picture := events.Picture{SHA256: hash(31).String(), Bytes: 482_113, Type: "image/png"}
	return []vector{
		{
			full:    events.FloorListed{Floor: "B1", Level: -1, Elevation: events.Some[int64](-3200)},
			minimal: events.FloorListed{Floor: "2"},
		}, {
			full:    events.FloorStruck{Floor: "roof", Why: "no fittings up there"},
			minimal: events.FloorStruck{Floor: "roof"},
		}, {
			full:    events.RoomListed{Room: "2.14", Floor: "2", Geometry: "cell office", Note: "two desks\nwindow to the north"},
			minimal: events.RoomListed{Room: "2.14"},
		}, {
			full:    events.RoomStruck{Room: "2.15", Why: "joined with 2.14"},
			minimal: events.RoomStruck{Room: "2.15"},
		}, {
			full:    events.HubListed{Hub: "H2", Radio: events.Mesh, Floor: "2", Room: "riser", Place: place, Circuit: "C3-1", Note: "behind the \"blue\" door"},
			minimal: events.HubListed{Hub: "H2"},
		}, {
			full:    events.HubStruck{Hub: "H9", Why: "one hub is enough"},
			minimal: events.HubStruck{Hub: "H9"},
		}, {
			full: events.DeviceListed{
				Device: "2-114", Is: events.Sensor, Hub: "H2", Radio: events.Mesh, Power: events.Battery, Floor: "2", Room: "2.14",
				Place: place, Circuit: "C3-7", Emergency: true, Maker: "Example & Daughters", Model: "S<2>", Type: "ceiling sensor",
				WarrantyStart: "2026-03-31", WarrantyMonths: 60, Geometry: "cell office", Note: "über der Tür",
			},
			minimal: events.DeviceListed{Device: "2-101", Is: events.Driver, Hub: "H2", Radio: events.Star, Power: events.Mains},
		}, {
			full:    events.DeviceStruck{Device: "2-199", Why: "drawn twice"},
			minimal: events.DeviceStruck{Device: "2-199"},
		}, {
			full:    events.DeviceRenamed{From: "2-14", To: "2-114"},
			minimal: events.DeviceRenamed{From: "a", To: "A"},
		}, {
			full: events.WallListed{
				Wall: "W7", Floor: "2", Material: "concrete", Thickness: 200,
				Line: []events.XY{{X: 0, Y: 0}, {X: 8_000, Y: 0}, {X: 8_000, Y: -6_500}},
			},
			minimal: events.WallListed{Wall: "W8", Floor: "2", Material: "glass", Thickness: 1, Line: []events.XY{{}, {X: 1}}},
		}, {
			full:    events.WallStruck{Wall: "W7", Why: "never built"},
			minimal: events.WallStruck{Wall: "W7"},
		}, {
			full:    events.DrawingPlaced{Floor: "2", Picture: picture, Corner: events.XY{X: -500, Y: 21_000}, Pixel: 12_500, Turn: -90_000},
			minimal: events.DrawingPlaced{Floor: "2", Picture: picture, Pixel: 1},
		}, {
			full:    events.DevicePlaced{Device: "2-114", Place: place.Value, Accuracy: 300},
			minimal: events.DevicePlaced{Device: "2-114"},
		}, {
			full: events.WifiSurveyed{Floor: "2", Place: events.XY{X: 4_000, Y: 9_000}, Heard: []events.AccessPoint{
				{Channel: 1, Width: 20, RSSI: -61}, {Channel: 11, Width: 40, RSSI: -80},
			}},
			minimal: events.WifiSurveyed{Floor: "2"},
		}, {
			full:    events.TestPlanned{Room: "2.14", Test: events.TestVacancy, Limits: map[string]int64{"off_within_s": 1200, "auto_on_percent": 50}, Note: "after the ceiling is closed"},
			minimal: events.TestPlanned{Room: "2.14", Test: events.TestManual},
		}, {
			full:    events.LinkMeasured{A: "2-114", B: "H2", RSSI: events.Some(-71), PDR: events.Some[int64](985_000), LQI: events.Some(201)},
			minimal: events.LinkMeasured{A: "2-114", B: "H2", RSSI: events.Some(0)},
		},
	}
}
