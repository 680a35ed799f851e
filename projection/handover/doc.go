// Package handover renders a site as files that a person can carry: the owner's
// pack. It is pure.
//
// # For whom
//
// Nobody who gets a pack has our tool, nor was on the job. A [Document] says
// everything in plain words and tables, in the order in which it is read, and every
// part can be handed on alone:
//
//	summary      how far the job has come, and what is not finished
//	cautions     where the work can hurt somebody
//	floors       drawings and lists: what sits where, and its way to its hub
//	devices      every position there ever was, and how it came into service
//	hubs         hubs, programs, channels
//	network      what a single failure takes down; islands; who has no second way
//	tests        what each room owed, what it was held against, what came of it
//	faults       faults, holds, conflicts, and what the log keeps without counting it
//	caretaker    a page a floor: what must stay on, and what goes out with it
//	electrician  by circuit: what to look at, and to isolate first
//	inspector    who tested with what to which limit, the sample, what was not done
//	office       what nobody has said: maker, model, warranty, circuit, serial …
//	people       who kept the log; the main acts
//	record       heads, settings, every photo by its checksum, and how to prove the
//	             pack
//
// # The corridor
//
//	History ─▶ Source ─▶ Document ─▶ HTML, PDF
//	(+ Moment)      └──▶ tables of the as-built record, COBie
//
// A [Source] is what is known at a moment: the facts of the site, who reaches whom,
// and the functional checks. [Compose] makes a Document of it: blocks (headings,
// paragraphs, cautions, tables, drawings, photos) apart from how they are laid out.
// [HTML] writes it as one file for a browser; packages below this one write it on
// paper and make the tables. They add nothing, and leave nothing out.
//
// # The same pack from the same log
//
// A pack follows from the entries in view, the moment, the pictures held, and the
// [Version] of the rendering; not from a clock, a locale, an order of arrival or the
// machine. "Now" is the moment's own time. Whoever holds the log can therefore make
// the pack again and compare.
//
// # Nothing is made up
//
// What nobody said is an empty cell, and stands in the part for the office with the
// positions it is missing of. A way to a hub says what it is known by: observed,
// measured, predicted, or nothing. What goes dark with a breaker is by the schedule
// or learned from what was seen; the caretaker's page says which. A picture that was
// not held, or is not what its checksum says, is named and not shown.
//
// "Handed over" means the newest signature for the whole site that is in view.
//
// # What people typed
//
// Names and remarks are shown whole, on one line. Controls, also those of the
// direction of writing, are shown as U+FFFD. Text in letters that run from right to
// left stands between U+2068 and U+2069, so that it turns nothing beside it; HTML
// makes <bdi> of the two, and other renderings may drop them. HTML is escaped by
// html/template, has no script, and asks the network for nothing.
//
// # Drawings
//
// Shapes tell kinds apart and fills how far a device has come: nothing hangs on
// colour. A floor with more than 80 marks is drawn whole, without tags, and again in
// parts of up to 40 with them; the list beside it says which device is on which
// part.
package handover
