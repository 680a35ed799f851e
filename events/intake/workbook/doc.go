// Package workbook cuts the sheets of an XLSX file into cells, for package intake
// to read, and writes tables as such a file. It is pure: it is given the file's
// bytes, and makes no temporary file.
//
// # The cast
//
// [Is] knows a workbook by its content, whatever the file is called. [Read] makes
// an [intake.Table] of each of its sheets, and [Named] finds one of them. [Write]
// writes each [intake.Grid] as text alone, so that Read gives back what was written.
//
// It stands apart from intake because the library that opens workbooks would
// make the part that runs in a browser half as large again.
//
// # What a cell says
//
// Text is taken as it is: what stands behind an apostrophe, or begins with =, is
// no formula. A number is what the cell holds, to the 15 digits that a
// spreadsheet keeps, and not how many of them it shows; its look counts for
// names alone. What lies between -1e-20 and 1e-20 is what is left over of a sum,
// and 0. A number that is formatted as a date or time is one, to the nearest
// second: 2026-03-31, 14:05 or both. Days count from 1900 or 1904, as the
// workbook says; 29 February 1900, which spreadsheets believe in, is refused, and
// so is what a spreadsheet shows as ####. Formats of hours that don't end at 24
// are left as they show. TRUE and FALSE are so written.
//
// A formula is the value it had when the workbook was saved, and a note says so;
// without one, or with an error for a value, the cell is a problem of its row.
//
// Rows are numbered as the spreadsheet shows them. Cells that are merged downward
// all take the value, as people see it; the others beneath a merged cell are
// empty. Hidden rows and columns are taken. All of this is noted, as are blank
// rows between others.
//
// # What is refused
//
// Workbooks behind a password, the old binary ones, OpenDocument sheets, other
// zip files, and what is cut off: each in words that say what to do. So is what
// is too large: 32 MiB as a file, 128 MiB unpacked, 48 MiB in one part, a million
// cells in a sheet with the empty ones before the last of each row, and merged
// cells that would take too long. A file of a few kilobytes can ask for
// gigabytes; it is measured before it is opened.
package workbook
