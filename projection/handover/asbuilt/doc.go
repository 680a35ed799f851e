// Package asbuilt writes what was built as plain tables, for whoever has no tool but
// a spreadsheet, and for programs that nobody has written yet. It is pure: it makes
// the files of a pack and stores nothing.
//
// # The files
//
//	csv/devices.csv   the schedule as it stands, hubs and devices, in the form that
//	                  pairwalk import takes; places are the real ones where somebody
//	                  logged them, and what import takes an empty cell for is left
//	                  empty: whether anybody said it, the log does not keep
//	csv/floors.csv    the floors, in the form that pairwalk import takes
//	csv/links.csv     measured links, in the form that pairwalk import takes
//	csv/serials.csv   the as-built record: each position, the unit in it, and
//	                  what was done to it when and by whom; struck ones too
//	csv/hubs.csv      each hub: channels, program, what is on it, the last push
//	csv/circuits.csv  what each circuit feeds, and how that is known
//	csv/tests.csv     the functional tests that are owed, where each comes from, and
//	                  every result
//	csv/faults.csv    every fault, open and cleared
//	csv/entries.csv   the whole log in words, also what was withdrawn or does not
//	                  count
//
// # Taken back
//
// Imported into a fresh site, floors first, devices.csv lists the same hubs and
// devices, and the rooms that their rows name. What does not come back, since no
// schedule can say it: devices found in the field of which no kind or hub was logged,
// and those called as a hub is (serials.csv has them all); remarks on rooms; and
// blanks at the ends of a text.
//
// # The form
//
// RFC 4180 in UTF-8, as package intake writes it: a header row, commas, lines that
// end in CRLF. A cell that a spreadsheet would take for a formula, as it begins with
// = + - or @, has an apostrophe in front; pairwalk import takes it off again, so
// that nothing is run and nothing is lost. Other programs have to take it off
// themselves. Times are RFC 3339 in the site's zone, lengths are metres. An empty cell
// is what nobody told, and several things in one cell are parted by semicolons. A ref
// names an entry for good, and is the same in every file. In entries.csv the column
// clock says how a time is known: by the site's clock, as a person typed it, or by
// a clock that was not compared with the site's; and picture_sha256 is what the
// picture of an entry is called by in photos/.
package asbuilt
