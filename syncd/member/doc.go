// Package member is one member at work on a site: it records entries, answers
// questions and exchanges logs with others. The command, the page and the
// simulator all drive it, and none of them holds a rule of its own.
//
// # The cast
//
// A [Home] is the folder of one installation; it opens sites, joins them and
// lists them. A [Member] is one site open for work, or the log in a file opened to
// be read ([Reading]), or a site on a full disk ([Home.Look]). What all of them
// need of the world around them comes in as a [World]: clocks, randomness, a place
// to complain.
//
// # The folder
//
//	sites/<site>/keys.json      this member's two secret keys, its name, the site's root
//	sites/<site>/keys.lock      held while that file is changed
//	sites/<site>/heard.json     how fresh each colleague's log is here; only ever local
//	sites/<site>/meet.json      where others were met, and whom our invite named; only ever local
//	sites/<site>/refused.json   who was refused at this device; capped, only ever local
//	sites/<site>/pictures/…     what entries speak of, by content (see package album)
//	sites/<site>/feeds/…        the journal (see package journal)
//	marks/<site>                a copy of the journal's mark, outside the site's folder
//
// # The keys
//
// Whoever has the two secrets in keys.json is this member to everybody else. They
// are clear, for their owner alone (0600), until a passphrase is set
// ([Home.SetPassphrase]); then the same file holds the public halves and an age file
// (age-encryption.org/v1, its scrypt recipient) with the whole clear keyring in it.
// It is one file under one name, replaced whole: a crash leaves the old one or the
// new one, and never none or both. The fresh file that a crash may leave beside it
// is removed when the site is next opened, as it may hold the keys in the clear.
//
// The public part of a locked file is compared with what was under the passphrase,
// so nobody can give a member another name, key or root by writing to it. A
// passphrase is normalised (Unicode NFC), since keyboards differ in how they compose
// letters. It guards the keys and nothing else: the log beside them is read without
// it, and a process that has the site open holds the keys in its memory.
//
// # A device that is lost
//
// Whoever has its keys is its owner until a lead revokes them ([Member.Revoke]). The
// cut is what is known of them then, or their last good entry where somebody else may
// have used the device since ([Revoking]); it can be raised afterwards and not
// lowered. An invite from a lead who was revoked opens no bus any more. Where the
// device was the only lead's, the recovery sheet makes another one lead, by
// [Home.RecoverFrom] with anybody's bundle.
//
// # An entry
//
// Record seals what happened with the next number of the own feed, the two
// clocks, and the heads taken in since the last entry, and returns when it is on
// disk. A rule of the trade broken by what happened never stops it: that is
// flagged when the facts are folded. What stops it is a body without shape and a
// disk that does not write. Whoever takes entries from people asks Known first: it
// finds a tag nobody has heard of, unless it is listed in the same breath. Entries
// whose number the asker drew (Once) are recorded once, however often asked for.
//
// # A part of the log
//
// A process that opens a site to record one entry about a few names (Home.OpenAbout)
// has the whole journal opened and checked, and decodes of it what those names have to
// do with (projection.Thread), while the lines are put in order, which hangs on none of
// that. Entries are sealed as ever: clock, chain and seen heads come from the lines
// themselves. RecordMarked says what there is to say about them,
// and reads the rest first where that shows to be needed; ReadRest does so where a
// name is not known in the part, since what would be right is found in the whole.
// Such a member answers for those names alone, and meets nobody.
//
// # Meeting others
//
// A carrier (a bus, a simulator) drives the exchange of package syncd through
// Have, Hear, Asks, Answer, Answered, Unanswered and Left, and once Asks has no
// more to ask, that of pictures through PictureAsks, ShowHeld, ShowPiece,
// PictureAnswered and PictureUnanswered; nothing in them waits for a network.
// Answered returns once the lines are on disk and folded, PictureAnswered once the
// bytes are kept. A carrier that says of a reply that it Came may ask for the next
// meanwhile, and answer from several goroutines: each opens its own reply, and those
// that are open by the time the disk is free are kept with one sync, of each feed in
// the order in which they came. Admits and Trusts say whom the carrier may let in and call at:
// members in good standing, those who show a join that proves itself by an invite
// nobody else used here, and those whom our own invite named. A lead's
// installation admits a newcomer by itself where its invite is plainly good.
//
// What counts of pictures is what entries that count speak of ([Member.Pictures]):
// a withdrawn photo is handed to nobody any more.
//
// # Looking
//
// Home.Look reads a site for a checkup (package checkup) and changes nothing: its
// files as they are, and what a copy of them says that is opened in memory. That
// copy has this member's keys and must never speak: it records nothing, and no
// carrier gets it.
//
// # Answers
//
// Facts come from package projection and judgements from the packages below it;
// this package joins them. The answer types here (StatusAnswer, SettleAnswer, …)
// are the documents that programs outside read; their names stay.
package member
