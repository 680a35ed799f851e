package events_test

import "pairwalk/events"

// recordVectors are what is said about the log and its members.
func recordVectors() []vector {
	heads := map[events.FeedID]events.Head{benFeed: {Seq: 6, Hash: hash(6)}}
	return []vector{
		{
			full:    events.SiteOpened{Name: "Example House", Root: root, Zone: "Europe/Vienna", Practice: true},
			minimal: events.SiteOpened{Name: "E", Root: root, Zone: "UTC"},
		}, {
			full: events.SettingsChanged{Set: map[events.SettingKey]string{
				events.SettleMinutes: "15", events.Region: "EU", "a_later_setting": "kept", events.ClockReference: "",
			}},
			minimal: events.SettingsChanged{Set: map[events.SettingKey]string{events.SettleMinutes: "0"}},
		}, {
			full:    events.FeedStarted{Previous: adaFeed, Last: events.Some(events.Head{Seq: 12, Hash: hash(12)}), Why: events.TornTail},
			minimal: events.FeedStarted{Why: events.NewFeed},
		}, {
			full:    benJoined(),
			minimal: adaJoined(),
		}, {
			full:    events.MemberAdmitted{Key: ben, Invite: invite},
			minimal: events.MemberAdmitted{Key: ben, Invite: root},
		}, {
			full:    adaRevoked(),
			minimal: events.MemberRevoked{Key: ben, Heads: map[events.FeedID]events.Head{}, Why: "?"},
			more:    []events.Payload{events.MemberRevoked{Key: ben, Heads: heads, Why: "phone lost"}},
		}, {
			full:    events.HubAssigned{Hub: "H2", Member: ben, Ended: true},
			minimal: events.HubAssigned{Hub: "H2", Member: ben},
		}, {
			full:    events.MemberAsked{Member: ben, Hub: "H2", Last: events.Some(events.At(minutes(-40))), Through: nine},
			minimal: events.MemberAsked{Member: ben, Hub: "H2"},
		}, {
			full: events.ClockCompared{
				Other: ben, Offset: 3010, RoundTrip: 60, // the worked example of RFC 5905
				Mine:   events.Reading{Wall: nine, Mono: events.Mono{Boot: "boot-1", Ms: 1000}},
				Theirs: events.Reading{Wall: nine + 3010, Mono: events.Mono{Boot: "boot-9", Ms: 77}},
			},
			minimal: events.ClockCompared{Other: ben, Mine: events.Reading{Mono: events.Mono{Boot: "a"}}, Theirs: events.Reading{Mono: events.Mono{Boot: "b"}}},
		}, {
			full:    events.ConflictResolved{Key: "serial 00A1-77 on 2-114 and 2-115", Stands: faultRef().String(), Why: "read both labels again"},
			minimal: events.ConflictResolved{Key: "k", Why: "?"},
		}, {
			full:    events.EventVoided{Event: faultRef(), Why: events.WrongDetail, Note: "it was 2-115"},
			minimal: events.EventVoided{Event: faultRef(), Why: events.DidNotHappen},
		},
	}
}

// adaJoined is Ada made a lead by the root.
func adaJoined() events.MemberJoined {
	p := events.MemberJoined{Name: "Ada", Role: events.Lead, Key: ada, Bus: adaBus, Root: root}
	p.Proof = events.Sign(rootKey, p.Statement(site))
	return p
}

// benJoined is Ben come in as a technician with Ada's invite, in place of an
// earlier installation.
func benJoined() events.MemberJoined {
	g := events.Grant{Key: invite, Role: events.Tech, Expires: minutes(60), Issuer: ada}
	g.Signature = events.Sign(adaKey, g.Statement(site))
	p := events.MemberJoined{
		Name: "Ben", Contact: "ben@example.org", Role: events.Tech, Key: ben, Bus: benBus, Root: root,
		Grant: events.Some(g), Voucher: events.Some(adaJoined().Vouch()), Replaces: publicOf(fixedKey(5)),
	}
	p.Proof = events.Sign(inviteKey, p.Statement(site))
	return p
}

// adaRevoked is the root ending Ada's say after her twelfth event.
func adaRevoked() events.MemberRevoked {
	p := events.MemberRevoked{Key: ada, Heads: map[events.FeedID]events.Head{adaFeed: {Seq: 12, Hash: hash(12)}}, Why: "left the company"}
	p.Proof = events.Sign(rootKey, p.Statement(site))
	return p
}
