package member

import (
	"pairwalk/projection"
	"pairwalk/projection/spectrum"
)

// ChannelsAnswer is a plan of channels. Disturbance is in thousandths of a device.
type ChannelsAnswer struct {
	V          int           `json:"v"`
	Moment     StatusMoment  `json:"moment"`
	Basis      string        `json:"basis"` // what it rests on
	Hubs       []ChannelsHub `json:"hubs"`
	Cost       int64         `json:"cost"`
	NowCost    int64         `json:"now_cost"`
	LowerBound int64         `json:"lower_bound"`
	Exact      bool          `json:"exact"`  // proved that no plan is better
	Fewest     int           `json:"fewest"` // channels, were no two systems to share that hear each other
	Notes      []string      `json:"notes"`
}

// ChannelsHub is one hub's channel: the present one and the planned one, 0 for
// none.
type ChannelsHub struct {
	ID      string         `json:"id"`
	Now     int            `json:"now"`
	Plan    int            `json:"plan"`
	Kept    bool           `json:"kept"` // it was not free to move
	Cost    int64          `json:"cost"`
	NowCost int64          `json:"now_cost"`
	Why     string         `json:"why"`
	Moves   []string       `json:"moves"` // what moving it costs
	Wifi    []ChannelsWifi `json:"wifi,omitempty"`
}

// ChannelsWifi is how much the surveyed Wi-Fi disturbs a hub on a channel.
type ChannelsWifi struct {
	Channel   int   `json:"channel"`
	Disturbed int64 `json:"disturbed"`
}

// Channels plans the hubs' channels as of a moment.
func (m *Member) Channels(moment projection.Moment, o spectrum.Options) (ChannelsAnswer, error) {
	s := m.At(moment)
	p, err := spectrum.For(s, o)
	if err != nil {
		return ChannelsAnswer{}, err
	}
	w := writer{s, s.Location()}
	return ChannelsAnswer{
		V: AnswerVersion, Moment: w.moment(), Basis: string(p.Basis),
		Cost: p.Cost, NowCost: p.NowCost, LowerBound: p.LowerBound, Exact: p.Exact,
		Fewest: p.Fewest.Span + 1, Notes: texts(p.Notes),
		Hubs: listOf(p.Hubs, func(h *spectrum.Assignment) ChannelsHub {
			return ChannelsHub{
				ID: string(h.Hub), Now: h.Now, Plan: h.Plan, Kept: h.Kept, Cost: h.Cost, NowCost: h.NowCost, Why: h.Why, Moves: texts(h.Moves),
				Wifi: listOf(h.Wifi, func(x *spectrum.Wifi) ChannelsWifi { return ChannelsWifi{x.Channel, x.Disturbed} }),
			}
		}),
	}, nil
}
