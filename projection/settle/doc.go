// Package settle judges when a hub may be pushed, and why not yet. It reads the
// facts of a [projection.Site] and adds what only this device knows: what its
// clocks show, and when it first had each entry. Those enter here, in a [Local],
// and nowhere below.
//
// # Verdicts
//
// In the order in which they win, since that is the order in which a technician
// can do something about them:
//
//	nothing   no device on the hub needs a push
//	blocked   something has to be done first; the reasons say what
//	wait      mesh devices are settling (R8); At says until when, by our wall clock
//	ask       a colleague may know of a pairing that has not been heard here
//	ready     push may go, as far as this device has heard
//
// Blocked comes before wait because records can come home and holds be lifted
// during the wait. Wait comes before ask because an answer goes stale while one
// waits. The reasons list everything that stands in the way, not only what the
// verdict names, so the wait and the people to ask are both there to be shown.
// Reasons with verdict ready are remarks and stop nothing.
//
// # What the wait counts (R8)
//
// Every mesh pairing said of the hub, also quarantined, voided and set aside by a
// resolution, unless its own author withdrew it as did-not-happen: whoever lost
// the argument still pressed the button. A device of unknown radio counts as
// mesh, and so does an entry of kind device.paired that is not understood, on
// every hub. A pairing told by voice (member.asked with a last pairing) counts
// like one logged by the asker, quarantined or not; once withdrawn it is gone
// from the facts, so a wrong one is to be withdrawn and taken down again. Star devices have no settle time and never wait
// (R9); a second push to devices that missed the first waits for nothing, unless
// something was paired since.
//
// # What proves that time has passed
//
// Only this boot's own mono clock; a step of any wall clock changes nothing. For
// each pairing we bound, on that clock, the latest time it can have happened:
//
//   - our own entry of this boot: its mono. With a typed time, the upper end of
//     its interval, if wall minus mono is now what it was then (± 50 ms), and
//     never later than the entry itself. A typed time is a claim by the clock as
//     it was set when it was typed.
//   - a colleague's entry: our receipt of it, or the upper end of its interval
//     carried over by a comparison of their clock with ours, whichever comes
//     first. A comparison counts, whoever made it, if both clocks are in the same
//     boot as then and wall minus mono is what it was (± 50 ms), ours now and
//     theirs at the entry.
//   - anything from before our own reboot: when the journal was first open in
//     this boot.
//   - an entry that nobody noted the receipt of: now. The shell notes one at
//     once, so that the wait ends.
//
// The settle time D has surely passed once
//
//	now ≥ at + D + 2ρ·age
//
// where at is that bound and age runs up to now from the bound, or from the
// comparison if that is older. For a comparison at is t − θ + δ/2, which gives
// now ≥ t − θ + δ/2 + 2ρ·age + D. The drift over the wait itself is part of it:
// a clock that gains ρ = 200 ppm is through ten minutes 120 ms too soon. So the
// plain wait is 240 ms longer than D; of that the half is for one clock's drift,
// and the rest swallows what is lost to whole milliseconds.
//
// A device with no mono clock proves nothing. Its verdict is wait with no end, and
// the reason says to let a colleague's device judge, or to time the wait by a
// watch; a push is recorded in any case, since it happened.
//
// # Power (common practice, no source)
//
// A cut that touched the hub's mesh routers while a wait ran, or may have run,
// starts the wait again when power is back. While it is off, push is blocked and
// the reason says to log power-on. A cut after the wait was over is a remark:
// what is dark will miss the push. So is one from before the pairing. Which it
// was is told by our mono, by the author's mono if both entries are from one
// boot, or by the order of one feed. If these can't tell, a cut that is over
// counts, which costs one more wait at the most. For one that lasts, site time
// may tell, if that knows both: to count it would block the push until the power
// is back, perhaps for weeks. This is the one place where a clock that was set
// can mislead, and only about what happened in earlier boots or came from
// clocks not compared with ours. A hub whose own circuit is off is always blocked.
//
// # What blocks
//
// A hub that is struck or not ready; no program, or one that does not list every
// device paired (R2); pairings that have not been exported, or whose export is
// not merged (R7); open conflicts of identity about the hub or a device on it; a
// hold on it, on a paired device, or on a place of either; power, as above. A
// change of channel (R1) is cured by a push, so it must not forbid one: it blocks
// until the hub is called ready again on the new channel, and from then on is a
// remark.
//
// # Whom to ask
//
// Members assigned to the hub, or whose last work on it is within active_hours of
// the site's last entry or of now, whichever is earlier, also work that is not
// folded; not ourselves, and nobody revoked. One is heard if an exchange, or
// their own last work on the hub, shows that we hold all they had said up to
// heard_minutes ago, and has answered if somebody's member.asked holds through
// asked_minutes ago. Freshness is bounded from below with the same clocks, so a
// colleague's note of an answer counts only if their clock was compared with
// ours; one can always ask oneself.
//
// # Breaches
//
// [Breaches] judges from facts alone which rules were broken (R1, R2, R7, R8), the
// same on every device with the same heads.
package settle
