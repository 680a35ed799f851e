package mesh

import (
	"math"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// node is a device or hub with what the ground knows of where it is. Devices come
// first, in the site's order, then hubs.
type node struct {
	tag    events.Tag
	hub    bool
	star   bool // joins over the star radio
	router bool
	placed bool
	at     events.Point
	floor  events.FloorID // "" unknown
	level  int32          // storeys above the lowest; of placed ones
}

func (g *Ground) addNodes(s *projection.Site, old *Ground) {
	g.nodes = make([]node, 0, len(s.Devices)+len(s.Hubs))
	for i := range s.Devices {
		d := &s.Devices[i]
		n := node{tag: d.Device, star: d.Radio == events.Star, router: d.IsRouter()}
		g.addNode(n, d.Place, d.Floor, d.Room)
	}
	g.firstHub = int32(len(g.nodes))
	for i := range s.Hubs {
		h := &s.Hubs[i]
		g.addNode(node{tag: events.Tag(h.Hub), hub: true}, h.Place, h.Floor, h.Room)
	}
	if slices.EqualFunc(g.nodes, old.nodes, func(a, b node) bool { return a.tag == b.tag }) {
		g.index = old.index
		return
	}
	g.index = make(map[events.Tag]int32, len(g.nodes))
	for i := range g.nodes {
		if _, taken := g.index[g.nodes[i].tag]; !taken {
			g.index[g.nodes[i].tag] = int32(i)
		}
	}
}

func (g *Ground) addNode(n node, place events.Maybe[events.Point], floor events.FloorID, room events.RoomID) {
	n.floor = g.storeys.Floor(floor, room, place)
	if place.Known {
		n.placed, n.at = true, place.Value
		n.level = g.storeyOf(n.floor, n.at)
	}
	g.nodes = append(g.nodes, n)
}

// squared is the distance of two places squared, in mm². Coordinates are held to
// a thousand kilometres, so it fits.
func squared(a, b events.Point) uint64 {
	dx, dy, dz := a.X-b.X, a.Y-b.Y, a.Z-b.Z
	return uint64(dx*dx) + uint64(dy*dy) + uint64(dz*dz)
}

// metres is the straight distance. The sum is of whole numbers and the root is
// rounded as IEEE 754 says, so every machine has the same.
func metres(a, b events.Point) float64 { return math.Sqrt(float64(squared(a, b))) / 1000 }

// slabs is how many floor slabs lie between two nodes.
func slabs(a, b *node) int { return int(max(a.level-b.level, b.level-a.level)) }

// storeyOf is the level of a place.
func (g *Ground) storeyOf(floor events.FloorID, at events.Point) int32 {
	level, _ := g.storeys.Level(floor, events.Some(at))
	return int32(level)
}
