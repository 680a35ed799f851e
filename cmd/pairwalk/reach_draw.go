package main

import (
	"fmt"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/syncd/member"
)

// drawReach draws a floor: where things are, and who has a path.
func (a *app) drawReach(s *projection.Site, devices []member.ReachDevice, points []member.ReachPoint, floor events.FloorID, planned bool) error {
	spots, unplaced := spotsOn(s, devices, points, floor, planned)
	if len(spots) == 0 {
		return fmt.Errorf("floor %s can't be drawn: no place is known of anything on it; coordinates come with the schedule's x_m and y_m, or with log placed", floor)
	}
	var corners []events.XY
	for _, x := range spots {
		corners = append(corners, events.XY{X: x.at.X, Y: x.at.Y})
	}
	var walls [][]events.XY
	for _, w := range s.Walls {
		if w.Floor == floor {
			walls, corners = append(walls, w.Line), append(corners, w.Line...)
		}
	}
	d := newDrawing(corners)
	for _, line := range walls {
		d.wall(line)
	}
	for _, x := range spots {
		d.mark(x.at, x.sign)
	}
	a.printf("%s, seen from above\n%s%s\n", a.bold("floor "+string(floor)), d, d.legend())
	if unplaced > 0 {
		a.println(a.dim(fmt.Sprintf("(%s with no place not drawn)", plural(unplaced, "device"))))
	}
	a.println()
	return nil
}

// spot is something with a place, and its sign.
type spot struct {
	at   events.Point
	sign rune
}

// spotsOn lists what has a place on a floor, and counts the devices that have none.
func spotsOn(s *projection.Site, devices []member.ReachDevice, points []member.ReachPoint, floor events.FloorID, planned bool) (spots []spot, unplaced int) {
	answers, hang := map[string]string{}, map[string]bool{}
	for _, d := range devices {
		answers[d.Tag] = d.OK
	}
	for _, p := range points {
		hang[p.ID] = hang[p.ID] || p.Kind == string(events.OfDevice) && len(p.Strands) > 0
	}
	for i := range s.Hubs {
		if h := &s.Hubs[i]; h.Floor == floor && h.Place.Known && h.Struck == nil {
			spots = append(spots, spot{h.Place.Value, 'H'})
		}
	}
	for i := range s.Devices {
		d := &s.Devices[i]
		switch {
		case d.Floor != floor || d.Struck != nil || d.Row != nil && !d.Is.Pairs():
		case !d.Place.Known:
			unplaced++
		default:
			spots = append(spots, spot{d.Place.Value, signOf(d, answers, hang, planned)})
		}
	}
	return spots, unplaced
}

// signOf is the sign of a device on a drawing.
func signOf(d *projection.Device, answers map[string]string, hang map[string]bool, planned bool) rune {
	ok, paired := answers[string(d.Device)]
	switch {
	case !paired:
		return '.'
	case d.Dark != nil && !planned:
		return '-'
	case hang[string(d.Device)]:
		return '*'
	case ok == string(mesh.Yes):
		return 'o'
	case ok == string(mesh.No):
		return 'x'
	}
	return '?'
}
