// Package relay keeps many sites open for those who call, and lets them sleep.
//
// A relay is an office's member of many sites. Members call at it, and so meet
// without ever being online at the same time; it calls at nobody. It holds what they
// say as every member does, with a key of its own on each site, admits nobody and
// has no say on the site's facts.
//
// # Asleep and awake
//
// All sites share one server and one port ([bus.Hall]). What the relay has to know of
// a site that sleeps is a [Seat]: no log is read and no file is open. A site wakes
// when somebody calls at its door who proves a key, for this very call, and a join of
// their own to that site; then its log is opened and its bus runs, and the log says
// whether they may come in. It goes to sleep when nobody has been on it for a while
// ([Options].Sleep). So memory and open files are bounded by the sites at work:
//
//	asleep → waking → awake → leaving → asleep
//
// Where as many are awake as may be ([Options].Awake), the one that nobody is on, and
// that nobody has visited for longest, makes room before its time. Where somebody is on
// each of them, they take turns: the one that woke first gives way once it has been
// open for half of Sleep, and its members call again. Before that, whoever calls for
// another site is told to call again.
//
// # Bounds
//
// Strangers cost a handshake and two signatures to check, and wake nothing. Whoever
// the log turned away wakes the site no more as long as it sleeps: its log can't
// change meanwhile, so neither can its word ([Shared] offices are asked anew). At most [Options].Openers sites are being
// opened at a time, in the order of the calls, and each once for all who wait. One
// that takes long takes one of these places; one that can't be opened is reported, and
// left alone for [Options].Retry, longer each time, up to ten times that. Callers who wait
// for a site hold no lock of others. One site's members have [Options].PerSite lines,
// all together [Options].Callers.
//
// # Sites joined meanwhile
//
// A door that is not known has the office asked for its sites again, at most once in
// two seconds: so whatever was joined by another process is there when the first
// member calls, and nothing has to be watched.
//
// # Stopping
//
// Close lets nobody in any more (and /healthz answers 503), says to those who are on
// line that the relay goes, has kept what came, and closes every log, so that the
// next opening need not doubt its end. Whatever it had acknowledged was durable
// before.
//
// # Who looks after it
//
// [Relay.Status] answers /healthz and /metrics. No figure names a site or a member.
// The relay's own log does: it stays on its machine.
//
// # The cast
//
// [Relay] decides who is awake. [Office] is where its sites are kept: [Home], a folder
// on this disk, or a cluster. site is one of them in its phase, face a member as its
// bus sees it, meter counts. Package bus does not know members, and member no bus:
// the two are tied here for many sites, as the command ties them for one.
package relay
