// Package projection folds a history, up to a chosen moment, into the facts of a
// site: its schedule, devices, hubs and members, who may say what, which entries
// contradict each other, and which make no sense. It is pure, and it never
// fails: what makes no sense becomes an [Anomaly].
//
// # The corridor
//
//	events ──▶ History ──▶ timeline ──▶ fold ──▶ Site
//	            (all)       (a view)    (≤ When)  (facts)
//
// A [History] holds every event there is, in record order. A [Moment] asks for
// a view of it: as of when, and as known to whom. Records (membership, voids,
// settings, resolutions, comparisons of clocks) of a view apply whole, whatever
// When says; they decide whose word counts ([trust]), what is withdrawn, and how
// clocks relate ([clocks]). Field facts of the view then have a point in site
// time, and those up to When are folded in the order of (point, rank).
//
// # Site time
//
// Site time is the clock of one member, by default the lead who opened the site.
// Other clocks map to it through clock.compared records: within one boot, and as
// long as wall minus mono has not moved by more than 50 ms, the difference is
// θ ± (δ/2 + 2ρ·age) with ρ = 200 ppm, over one or more members in between.
// Otherwise it is unknown and a fact's time is not placed. A reboot or a step of
// either clock ends what a comparison tells, also of site time's own: between the
// last look at its old running and the first at the new one nothing is placed.
//
// The point of an entry logged as "now" is its corrected wall clock, but never
// before the point of any "now" entry its author had seen; so causality holds
// and there is one total order. The point of an entry with a typed time is the
// middle of its interval: a pairing at 14:00 stands at 16:00 although "unpaired
// at 13:30" was logged at 15:00. Typed times push nobody, nor do entries that are
// withdrawn or quarantined.
//
// # Who had seen what
//
// Whether somebody had heard of an entry is decided by the heads they say they
// had seen, never by a clock. Where a feed forks, having seen one branch is not
// having seen the other, and a revocation accepts only the branch of its head.
// Of several revocations each may raise a cut and none lower it.
//
// Two pairings of a device in ignorance of each other are noted when the later of them
// is folded, and stay open until somebody who had seen both goes on from there. What
// was closed so is not asked about again.
//
// # What depends on what
//
// Facts depend on the events in view and on When: never on the local clock, on
// receipts, or on the order of arrival. Two members with the same heads have the
// same facts. Judgements that need a clock live above, in the packages below
// this one, and read a [Site].
//
// # Numbers, stages and shelves
//
// An event has a number ([events.Number]), dealt out as events come. What is noted of
// each stands on pages by that number and stays where it is, so facts point there
// and no map holds all events. Two lists of numbers put them in record order and in
// the order of points; an event that comes late is put into both and moves nothing
// else, unless somebody followed it or it may change what others say.
//
// A fold is written by one fact after the other. What facts write most is one table of
// devices, a small cell for each (cell.go); the rest is shared with folds before it
// until it is written (copy.go). A stage is a fold that is left standing, to go on from
// when a moment after it is asked for (stage.go): stages lie so far apart that each
// takes no more memory than the facts between it and the last one are worth, so a
// moment costs the same however long the story is, but for what has to be listed whole.
// Lists that only grow stand on shelves (shelf.go), where all folds of one path put the
// same things in the same order, so that each has some beginning of one list; lists of
// which one is changed now and then are in leaves that folds share (leaves.go).
//
// One device ([History.Device]) goes on from a stage by itself: by the facts that
// wrote it, which the first fold over them noted, and by those few that bear on what
// others do to it, on hubs, exports and holds (alone.go). Where names moved, serials
// stand on two devices or two paired one, it is taken from the whole site; the law is
// that both are the same.
//
// A late fact that says something of one device and of nothing else is worked into the
// stages after its point (mend.go): that device is folded alone, once with the fact and
// once without, and where that shows no other difference, how it stands is put into
// each stage. Any other late fact drops the stages after its point, and the facts after
// it are folded again.
//
// # What is gone on from
//
// Answers that follow the whole log are kept where they stand and gone on from: the
// stages of folds ([History.At]), the watch over what turns ([History.Course]), the
// order that entries are told in ([History.Tell]), and those that a course marks. A
// plain field fact that comes after all others costs what it changes; one that comes
// in before some is gone back for; a record, which may change anything, begins them
// anew. What was asked before never shows in an answer.
//
// # A part of the facts
//
// Whoever records one thing about a device asks little of a site: is it on the
// schedule, what breaks a rule now, which conflict is new. A [Thread] says which
// field facts bear on that. It begins with the names in the entry and follows them:
// to the hubs a position is or was on, its circuits, what cut off its power, what it
// was called, its serials, and where else those are said to be. All that names one of
// these is read, and of every other field fact only that it was said, when, by whom,
// and having seen what; so points, order, trust and who had seen what are those of
// the whole history. What was not read is on the timeline and never folded. Records
// are read always. Clocks that are ahead are not looked for then: what shows one is
// said by somebody who had heard the entry, and nobody has heard the one that is said.
//
// What the rest says can then be wrong or missing, and two things make that safe to
// leave so. An entry that is folded last ([History.AddLast]) changes its own
// subjects, the hub of a pairing and who shares a serial, and nothing else. And what
// a conflict is called and says hangs on the facts of those alone. So what is new
// after the entry is the same as with everything read; a property test holds that.
// Where an entry is not the last fact, or reaches back, all has to be read.
// What a push or a change of channel does hangs on every device of the hub, so these
// have no thread.
//
// # Where a new fact goes
//
// A field on [Device], [Hub] or [Site]; its case in the one type switch of
// fold.go; the anomaly for an entry that makes no sense beside it.
package projection
