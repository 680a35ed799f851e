// Package web serves one member's page: the whole job by touch, on this machine,
// with no network.
//
// # Who may ask
//
//	request ──▶ host ──▶ origin ──▶ token ──▶ answer
//
// The Host of a request must be a name of this page, so that no other site's name
// can be pointed here; a request that changes something must not come from another
// origin ([http.CrossOriginProtection]); and whatever shows or changes the log
// takes the token of the printed address as a bearer token. The address carries it
// behind the #, which browsers send to nobody. Only the page itself, which is the
// same on every site, is served without.
//
// On loopback the page speaks plain HTTP. Beyond it there is only TLS, with a
// certificate made here or one given; whoever comes from another machine must say
// with each entry who is speaking, for the page cannot know.
//
// # What is answered
//
// Below /api/ every answer is a JSON document of package member, and every refusal
// of a question that there is {"error": words}. GET asks: now, hubs, status, trouble, story,
// show, reach, layout, course, team, settings, channels, walk, leave, explain, differs,
// checks, faults, pictures, picture/SHA256, doctor, bundle, handover, hello.
// Most take a moment: at, known_by, known_at; explain and differs take from and to.
// The pack that handover answers with is one ZIP; with dry it says what it lacks. POST records: log, void, correct,
// exchange, resolve, asked, assign, admit, revoke, set, import, fieldsheet, invite,
// bundle, records, homecoming, merged, picture, drawing, label, call, hangup.
//
// # How it stays up to date
//
// GET changes stays open and says, as server-sent events, how things stand: once at
// first, and whenever the log, the team or a picture has moved. A page asks again for
// what it shows then: what few entries bear on, which is the layout, and who is on the
// site and how they are met, only where its count in the message has moved. That the log
// has grown is said at once, and again after 5 ms; while it goes on growing, less and
// less often, down to every 50 ms. Each message names the digest of the page, so that one
// older than the process loads itself anew.
//
// An answer names its digest as its ETag. Whoever asks again with that in If-None-Match
// is sent 304 and nothing else where it is the same still, so that the page draws only
// what has changed. A course is long and grows at its end: after=MARK asks for what
// comes after the mark that an earlier answer gave. Of other long answers a page asks
// for what it shows: of trouble and hubs for the lists it names (lists), of faults for so many
// that stand and so many that are cleared (most) besides those of a fault or subject,
// of reach for the devices of one floor and one more (floor, device).
//
// # Recording once
//
// POST log takes a number drawn by the page with its entries. It becomes the random
// half of their ids, and asking twice with one number records once: a page whose
// answer got lost asks again without harm, also of a process that was started anew.
//
// # The page
//
// Its sources are in ui, TypeScript on Preact, bundled by esbuild into page, which
// is embedded: go run needs no Node. Nothing is loaded from any network.
package web
