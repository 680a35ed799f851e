// Package intake turns schedules and field sheets into events, or says which row
// is wrong. It is pure: it reads what it is given, and asks no clock.
//
// # The cast
//
// [Read] makes a [Sheet] of a file: good rows as payloads, and a [Problem] for
// every bad one, never the first alone. [Sheet.Diff] holds a schedule against a
// [Listing], what the site has now, and [Diff.Payloads] are the entries to make.
// [ParseWhen], [ParseMoment] and [ParseTags] read what people type, here and in
// the command. [WriteCSV] writes what Read reads.
//
// # The file
//
// Text in UTF-8, with or without a byte order mark, cut into cells as RFC 4180
// says: commas, quotation marks and line breaks may stand inside quoted cells.
// Lines end in CRLF or LF. The separator is the comma, semicolon or tab by which
// the header row makes the most sense. Rows are numbered as a spreadsheet shows
// them: the header is row 1, a blank line counts, and a line break inside a cell
// doesn't. Space at the ends of a cell is nothing. A row with fewer cells than
// the header has empty ones at its end; a row with more is a problem.
//
// A formula is no value: a cell that begins with = is a problem. Behind an
// apostrophe it is text, as WriteCSV writes it.
//
// # The sheets
//
// A sheet is known by its header row. In headings and in words of the trade only
// letters and digits count: "Device Tag", device_tag and DEVICE-TAG are one. The
// columns in capitals are needed; other headings are synonyms; columns that
// nobody knows are passed over with a note, and two for one thing are an error.
//
//	schedule      TAG (position, mark, device)  KIND (device kind)  HUB (controller)
//	              radio  floor (storey, level)  room (space)  x_m y_m z_m
//	              circuit (breaker)  power (supply)  emergency (egress)
//	              was (old tag)  maker (manufacturer)  model  type
//	              warranty_start  warranty_months  geometry  note (remark, comment)
//	floors sheet  FLOOR (storey)  LEVEL (floor number)  elevation_m (height)
//	field sheet   TAG  WHAT (action)  WHEN (time)  serial (serial number, s/n)
//	              by (who, technician)  note (why, remark, comment)
//
// A length's heading ends in its unit: _m, _mm or _ft (of 304.8 mm). It is kept
// to the nearest millimetre. A point or a comma is the decimal sign, and nothing
// parts thousands; "1,234" may be either, and is refused except in a file of
// semicolons, which spreadsheets write where the comma is the decimal sign. In
// millimetres "1.234" is refused as well. Dates are written 2026-03-31.
//
// # The schedule
//
// A row of kind hub lists a hub, and its tag is the hub's id. A hub that only
// devices name is listed too, with nothing but its name: a list of tag, kind and
// hub alone works. A room is listed for each that a row names, with its floor
// and geometry; one on several floors, such as a stairwell, with no floor.
//
// What a row leaves out: radio is mesh (both, for a hub); power is mains, except
// that a sensor runs on a battery, and so does a "portable", which is a
// wall-control by another word. A driver may be called fitting or luminaire, a
// wall-control keypad, a sensor by what it senses. Without z_m a device lies at
// its floor's elevation (else level × 3.5 m), which a floors sheet must have
// told, or at the site's datum if it names no floor.
//
// # Importing again
//
// A column that the file lacks leaves alone what an earlier one said; an empty
// cell of a column that is there empties it. The same file again changes
// nothing. The column was renames a device with all its history, and means
// nothing once that is done. What the site has and the file doesn't is only ever
// suggested for striking, and not at all while some row can't be read well
// enough to say what it names. A struck and an added device that are alike in
// every column but the tag, or else in room, kind and hub, and alone in that,
// are suggested as a rename.
//
// # The field sheet
//
// What was done is a verb of the log command: fitted, paired, refused, skipped,
// unpaired, replaced, heard, fault, note, power-off, power-on, hold, lift. A
// device's hub is the one it is listed on. The note of a refused or skipped one
// begins with the reason ("no-answer: tried twice"; else other), that of a fault
// with its severity (else major). A note to anything else is an entry of its own
// at the same time. Times are read as by ParseWhen, on the sheet's day. Its rows
// are entries, not a state: the same sheet again is the same work logged twice,
// which whoever imports it has to prevent.
//
// # Where a new sheet goes
//
// Write its layout in a file of its own (floors.go is the shortest): columns, a
// function that reads a row, one that looks at rows together, and one that holds
// them against the site. Give it a line in the table layouts in sheet.go.
package intake
