// Package simtest runs whole members through a made-up world that loses messages,
// sets clocks, cuts power and crashes processes, and sees that every promise
// holds all the same. One seed makes one world: what happens in it follows from
// the seed alone, in one goroutine, with no real time, network or files.
//
// # The world
//
// Two to five people work on one small practice site, each with an installation. Each is a real
// [member.Home] and [member.Member] on a [journal.MemFS] that knows what a power
// cut leaves of it. The true time is the simulator's; no member ever sees it. A
// device shows its own: a boot clock that runs up to 200 ppm fast or slow, and a
// wall clock that runs with it and is off by minutes or hours.
//
// Between any two devices there is a link, up or down, and now and then slow one
// way. Over it go the bytes that a real carrier would send: five samples of the clock and
// the comparison, then have, then what [member.Member.Asks] says, and tips when a
// log has grown; and every so often another have. Messages over one link are under
// way for as long as chance has it, so that they come out of order, and now and then
// very late. A request that nothing comes of is unanswered after ten seconds, and
// after two in a row the peer has left.
//
// # What happens in it
//
// People do field work in the words of the trade, truly or wrongly: they pair,
// push, hold, void, correct, ask and merge, and write some of it down later. In
// between comes what is injected (see [Fault]). Of the kinds of fault each seed
// allows itself only some, so that worlds differ, and injects at least one.
//
// A process dies between two calls or within one: its disk counts the calls made
// of it, and at the last one takes half of a write, or all of it without saying
// so. From there on nothing that the dead process does has an effect. A power
// cut then takes what was not synced, or some of it.
//
// While no process runs, a bit of a feed, the receipts or a mark may flip, or the
// end of one be gone. Spared is the join of a member as long as no other device has
// it: it is what proves all the rest, and who loses it needs another invite. And a
// disk that loses the end of a line that it had synced, in an installation that was
// not closed, goes off with its device: within one boot that looks like a write that
// nobody was told of. A disk may be full for a while, or fail to sync: then nothing
// is acknowledged, everything can be read, and the process ends and comes back.
//
// An installation may come up twice: a copy of its folder on another device, with
// its marks or without. Both answer to one bus key, so nobody talks to both at once;
// what one of them holds gets to the other by a file. And it may be of an older
// version, which takes one kind for unknown, until it gets today's; now and then
// somebody says what is of a kind that nobody knows yet.
//
// In a third of the worlds somebody is bad. A member in good standing, whose process
// goes on as before, seals by its key what it likes and hands it out in files:
// backdated entries, clocks of years to come and lies of how clocks stand, what only
// leads may say, withdrawals of others' entries, many feeds, feeds of strangers,
// forks of which others see other branches, others' words as its own, heads that do
// not exist, and feeds with a line left out for good. In the exchange it claims what
// it lacks, leaves lines out and sends others than it was asked for. Thieves join
// with an invite that was used, or go on with the keys of a device whose owner the
// lead then revokes; the lead revokes the member gone bad, and in the end decides
// whom an invite was meant for.
//
// # The promises
//
// See [Promise] for their names. They are judged from outside the members:
//
//   - Kept: a ledger reads the files of every device whenever an entry was
//     acknowledged (Record or Answered returned nil) or a log was opened, and
//     each line it ever found there is found there again, whatever happened.
//     A device that was put back to a backup, or whose files were spoilt, starts
//     from that; and in the end everybody has every line that was ever acknowledged
//     anywhere, but for those that were destroyed on the only disk that had them.
//   - One number: no place of a feed is ever given to two lines, but where a copy
//     of its installation can't know that it is one: all of a device was put back
//     to a backup, or copied, marks and all.
//   - Nothing unauthorised folds: who may say what is worked out from who was
//     invited, what the lead said of whom, and which lines lead to the heads that a
//     revocation names. Everybody's facts, settings and conflicts are what they are
//     where the lines of those who may not say them are empty, and said long ago.
//     What is said about lines (oddities, forks, what was past a cut) may differ.
//   - No fork hides: wherever two lines of a member stand at one place, everybody is
//     shown that the feed forks, or that somebody has dealt with it.
//   - No hole stops others: a line that is held by somebody who lacks the one before
//     comes to everybody all the same.
//   - Damage is told: who opens a log of which a file was spoilt names a problem.
//   - Readable: a member whose disk refuses to write hands over all that it holds.
//   - Not early: the simulator knows when each pairing truly happened. Whatever a
//     judgement says of the end of the wait, at that time no pairing on the hub
//     that is in the judge's files is less than the settle time old. A verdict of
//     ready is a special case, and they are counted.
//   - Heard: a judgement names everybody at work on the hub who logged a pairing
//     there more than a minute ago that has not come here, unless they spoke of
//     the hub in the last quarter of an hour. Clocks may lie; but where one was set
//     by hours, work of today looks like another day's, and this is not judged. Nor
//     is it of whoever has a second device, which nobody can know of before it is
//     heard, of those who are revoked or came by what was stolen, and of a member
//     gone bad: what it says of its own work is its word, as on paper. Not early
//     passes over the same word; and neither is asked of a judge that lied to its own
//     log of how clocks stand.
//   - Quiet: once all faults end, the exchange ends too, within a number of
//     messages.
//   - Blameless: nobody is complained of who did no wrong: whose replies were not
//     garbled, whose disk did not spoil, who was not put back to a backup, and who
//     did not lie. Passing on what a villain wrote is no wrong.
//   - Agreed: then all have the same, line for line and byte for byte (but for a
//     signature that was spoilt on the only disk that had it, and that the next line
//     makes up for), and the same status, now and at past moments, and as known to
//     each of them; members of other versions too, once they are of one.
//   - Settled: then, after all loose ends are tied up and the settle time has
//     passed, push may go: no wait is for ever. Not judged is a device that can't
//     hear everybody, since another with its keys, or theirs, does.
//   - Entries first: nobody is asked about pictures while a pull is on its way to a
//     peer that answers.
//   - Pictured: what stands under a picture's name is that picture, and a photo that
//     was kept is on the disk of whoever took it. Once all faults have ended,
//     everybody ends with every picture that anybody holds.
//   - Opens: a log that was closed, crashed or cut off is opened again.
//   - Recorded: while its process lives, an entry of the right shape is taken.
//   - No panic: nothing panics.
//   - Injected: a run in which nothing was injected proves nothing, and fails.
//
// # Replaying
//
// A failure names its seed, the lowest that failed. The story of a run, in
// [Report], tells everything that happened with the true time:
//
//	go test ./syncd/simtest -run TestSeeds -seed 42 -v
//
// With the failure comes a run that was cut down (see [Shrink]): what need not
// happen for the same promise to be broken is left out, and what is left is a story
// of a few lines. It is lived through again with
//
//	go test ./syncd/simtest -run TestSeeds -seed 42 -without 1..4,6..1700,1702.. -v
//
// where the numbers are those of what does not happen. To look for a cause, leave
// out more or less by hand. So many runs may be made to cut one down, however long
// they take; -tries 0 has none cut down.
//
// For many more worlds than a gate has time for there is
//
//	go test ./syncd/simtest -run TestSeeds -soak 2h -timeout 0 -v
//
// which says from time to time how it goes, tells of a broken promise and goes on,
// and at the end, or when it is interrupted, prints what all came to, and the seed
// to go on from. A build is as good as the worlds that its breakages were found in:
// TestBrokenBuildsAreCaught breaks single lines of the members, and has each found.
//
// # Numbers
//
// What happens has a number, so that a [Plan] can leave it out: 1 to 4 are those
// who join at the beginning, 5 and 6 the days. Each step of a day has a hundred
// numbers from its own hundred on: 1700 is what people do in step 17 of the world,
// 1701 a mishap, 1702 that two find each other again, 1703 that somebody joins
// late, 1704 a backup, and from 1710 on the faults that come over messages and
// starts in that step, one number for each kind. The story tells the numbers.
//
// Where something is left out, the rest should stay as it was. So whatever has a
// number has dice of its own, which follow from the seed and the number; so has
// what happens at a time, such as the arrival of a message; and a host, and a link.
// Code that draws keeps to three rules: it draws from the dice at hand
// (world.dice) as much whatever the state of the world; it draws a host with whom,
// which stays with the same one as long as that one can; and what is new in a step
// is an item of its own, with world.happens, or a fault with world.allows.
package simtest
