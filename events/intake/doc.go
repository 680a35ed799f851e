// Package intake turns schedules, surveys and field sheets into events, or says
// which row is wrong. It is pure: it reads what it is given, and asks no clock.
//
// # The cast
//
// [Read] makes a [Sheet] of a file: good rows as payloads, and a [Problem] for
// every bad one, never the first alone. [ReadTables] does so for a workbook that
// package workbook has cut into cells. [Sheet.Diff] holds a sheet against a
// [Listing], what the site has now; [Diff.Payloads] and the rows of
// [Diff].Entries are the entries to make.
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
// # The workbook
//
// Every sheet may come in an XLSX file too. Of its sheets the first is taken that
// is not hidden and has, in one of its first 21 rows with anything in them, all
// the headings that some sheet needs; notes name the others. Names, models and
// notes are taken as they show, numbers and times as they are: the point of a
// number is never in doubt, and 93 % is 0.93. What the spreadsheet has made a
// date, a power of ten or a number of more than 15 digits is refused as a name:
// 2-10 becomes a date before anybody looks. How cells are cut, and what of
// formulas, merged and hidden cells, is in package workbook.
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
//	walls sheet   FLOOR (storey, level)  MATERIAL (made of, construction)
//	              THICKNESS_MM (thick)  POINTS (line, corners, path)
//	              wall (wall name)
//	links sheet   A (from, sender, tx)  B (to, receiver, rx, heard by)
//	              rssi_dbm (rssi, dbm, signal)  pdr (prr, delivered)
//	              lqi (link quality)  when (time, measured)
//	Wi-Fi survey  FLOOR (storey, level)  X_M  Y_M  CHANNEL (chan)  RSSI_DBM (rssi,
//	              dbm, signal)  width_mhz (width, bandwidth)  when (time, surveyed)
//
// A length's heading ends in its unit: _m, _mm or _ft (of 304.8 mm). It is kept
// to the nearest millimetre. A point or a comma is the decimal sign, and nothing
// parts thousands; "1,234" may be either, and is refused except in a file of
// semicolons, which spreadsheets write where the comma is the decimal sign. In
// millimetres and dBm "1.234" is refused as well. Dates are written 2026-03-31.
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
// # The walls sheet
//
// A wall runs through points "x y; x y; …", parted by semicolons or line breaks,
// in metres unless the heading ends in _mm or _ft. A comma is a decimal sign where
// space parts the two numbers ("1,5 2,25"); "0,0; 5,0" is refused. It has two
// points or more, and they are not all one; it is 1 mm to 3 m thick, to the
// nearest mm; its material is one of [Materials], some also by other words
// (drywall, timber, steel).
//
// A wall without a name is the listed one along the same line, in either
// direction, of its material or else of another; if there is none, it gets the
// line for a name. So the same file changes nothing, a changed material amends,
// and a changed line is another wall. Walls of two materials along one line are
// layers. The same wall twice is a problem, unless the file names both. What no
// row names is suggested for striking, as in the schedule.
//
// # The links sheet
//
// A row says how well b heard a; both are devices on the schedule, or hubs. It
// tells at least one of: RSSI, -174 to 80 dBm, to the nearest dBm, with a word of
// doubt above 20; PDR, the share of packets delivered, as 0.93 or 93 %, where a
// bare number over 1 is refused unless the heading says per cent; and LQI, 0 to
// 255. The time is read as on a field sheet, on the sheet's day; without one the
// link was measured now.
//
// A row is the same as an entry in the log, and not logged again, if both say the
// same of the same ends and time. If neither tells a time it is taken for the
// same too: it may be a second measurement, and the diff says how many such rows
// there were.
//
// # The Wi-Fi survey
//
// A row is an access point as heard at a place; the rows of one place and time
// are one survey, wherever they stand. A row without a time goes with the one
// above it of its place. The width is 20, 22 or 40 MHz, and 20 where nobody says.
// Channels are 1 to 14, in region US 1 to 11, in EU 1 to 13; other bands don't
// disturb the mesh, and their rows are refused. A place with a bad row is not
// taken at all, as it would seem quieter than it is. Surveys are told apart from
// those in the log as links are.
//
// # Where a new sheet goes
//
// Write its layout in a file of its own (floors.go is the shortest): columns, a
// function that reads a row, one that looks at rows together, and one that holds
// them against the site. Give it a line in the table layouts in sheet.go.
package intake
