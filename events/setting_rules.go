package events

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Mesh channels: IEEE 802.15.4-2020 §10.1.3.3, 2.4 GHz O-QPSK, k = 11…26.
const firstChannel, lastChannel = 11, 26

// ParseChannels reads mesh channels as allowed_channels has them: numbers and
// ranges between commas, such as 15,20,25-26. They come back rising, each once.
func ParseChannels(text string) ([]int, error) {
	var out []int
	for part := range strings.SplitSeq(text, ",") {
		from, to, ranged := strings.Cut(strings.TrimSpace(part), "-")
		lo, err := strconv.Atoi(strings.TrimSpace(from))
		hi := lo
		if err == nil && ranged {
			hi, err = strconv.Atoi(strings.TrimSpace(to))
		}
		if err != nil || lo < firstChannel || hi > lastChannel || lo > hi {
			return nil, fmt.Errorf("%q is not a channel from %d to %d, nor a range of them such as 15-20", clip(part), firstChannel, lastChannel)
		}
		for k := lo; k <= hi; k++ {
			out = append(out, k)
		}
	}
	slices.Sort(out)
	return slices.Compact(out), nil
}

func isChannels(s string) error {
	_, err := ParseChannels(s)
	return err
}

// ParseMinutesOf reads times by kind of device as pair_minutes_of has them, such
// as sensor=3,driver=1, in minutes.
func ParseMinutesOf(text string) (map[DeviceKind]int64, error) {
	out := map[DeviceKind]int64{}
	for part := range strings.SplitSeq(text, ",") {
		if strings.TrimSpace(part) == "" {
			continue
		}
		kind, minutes, _ := strings.Cut(part, "=")
		k := DeviceKind(strings.TrimSpace(kind))
		n, err := parseInt(strings.TrimSpace(minutes), 1, 24*60)
		_, twice := out[k]
		if err != nil || twice || !slices.Contains(DeviceKinds, k) {
			return nil, fmt.Errorf("%q is not a kind of device and its minutes, once, such as sensor=3", clip(part))
		}
		out[k] = n
	}
	return out, nil
}

func isMinutesOf(s string) error {
	_, err := ParseMinutesOf(s)
	return err
}

func wholeIn(lo, hi int64) rule {
	return func(s string) error {
		if _, err := parseInt(s, lo, hi); err != nil {
			return fmt.Errorf("%q is not a whole number from %d to %d", clip(s), lo, hi)
		}
		return nil
	}
}

func orEmpty(r rule) rule {
	return func(s string) error {
		if s == "" {
			return nil
		}
		return r(s)
	}
}
