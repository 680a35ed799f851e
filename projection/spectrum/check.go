package spectrum

import (
	"errors"
	"fmt"
)

// ErrProblem means that a problem is ill-formed.
var ErrProblem = errors.New("ill-formed problem")

// most bounds the sum of all amounts of a problem, so that none overflows.
const most = int64(1) << 48

// check says what is wrong with a problem's form.
func (p *Problem) check() error {
	bad := func(format string, args ...any) error {
		return fmt.Errorf("%w: %s", ErrProblem, fmt.Sprintf(format, args...))
	}
	switch n, k := p.Hubs, len(p.Channels); {
	case n < 0 || n > 1<<12:
		return bad("%d hubs", n)
	case len(p.Pair) != n:
		return bad("%d rows of pairs for %d hubs", len(p.Pair), n)
	case p.Alone != nil && len(p.Alone) != n, p.Allowed != nil && len(p.Allowed) != n, p.Prefer != nil && len(p.Prefer) != n:
		return bad("not a row for each of %d hubs", n)
	case n > 0 && k == 0:
		return fmt.Errorf("%d hubs: %w", n, ErrNoChannel)
	}
	for i := 1; i < len(p.Channels); i++ {
		if p.Channels[i-1] >= p.Channels[i] {
			return bad("channels do not rise: %d, %d", p.Channels[i-1], p.Channels[i])
		}
	}
	sum := int64(0)
	for i, row := range p.Pair {
		if len(row) != p.Hubs || p.Alone != nil && len(p.Alone[i]) != len(p.Channels) || p.Allowed != nil && len(p.Allowed[i]) != len(p.Channels) {
			return bad("a row of hub %d is too short or too long", i)
		}
		for j, w := range row[:i] {
			if w != p.Pair[j][i] {
				return bad("hubs %d and %d disturb each other by %d and by %d", j, i, p.Pair[j][i], w)
			}
			if w < 0 || w > most {
				return bad("hubs %d and %d: %d", j, i, w)
			}
			sum += w
		}
		if p.Alone != nil {
			for k, w := range p.Alone[i] {
				if w < 0 || w > most {
					return bad("hub %d on channel %d: %d", i, p.Channels[k], w)
				}
				sum += w
			}
		}
		if sum > most {
			return bad("amounts are too large")
		}
	}
	return nil
}
