package main

import (
	"context"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/handover"
	"pairwalk/syncd/member"
	"pairwalk/syncd/member/checkup"
)

// packer makes the owner's pack for whoever asks the page; it shows no progress on
// the terminal of the process that serves.
func (a *app) packer() func(context.Context, *member.Member, projection.Moment) (handover.Pack, member.PackAnswer, error) {
	return func(ctx context.Context, m *member.Member, at projection.Moment) (handover.Pack, member.PackAnswer, error) {
		quiet := *a
		quiet.ctx, quiet.tty = ctx, false
		made, err := quiet.pack(m, at)
		if err != nil {
			return handover.Pack{}, member.PackAnswer{}, err
		}
		return made.pack, made.answer(&quiet, ""), nil
	}
}

// doctor looks at this installation and the site of the page, for whoever asks it.
func (a *app) doctor(site events.SiteID) func() (checkup.Answer, error) {
	mine, flags := *a, *a.cli
	flags.Site, mine.cli = string(site), &flags
	return func() (checkup.Answer, error) {
		r, err := new(doctorCmd).read(&mine)
		if err != nil {
			return checkup.Answer{}, err
		}
		return checkup.Of(r), nil
	}
}
