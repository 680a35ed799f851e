// Package cobie writes a site as a COBie 2.4 workbook, in XLSX. What its sheets say,
// and where each column is from, is in package register; here is how it looks and
// how it is stored.
//
// # The workbook
//
// A first sheet, Instruction, says in a few lines what this is, of which site and
// moment, how n/a is to be read, and in which zone the times are. Then come the sheets
// of [register.Book] under COBie's own names, also those with no rows: a heading
// that stays in view, filters, and columns as wide as what is in them.
//
// # Laws
//
// The bytes depend on the source alone: the properties carry the moment of the pack,
// entries of the archive have no times and stand in one order. What people wrote
// is text in every cell, also where it begins with = + - or @: no formula is ever
// written, and cells are formatted as text, so that editing one makes none either.
// What XML can't hold becomes U+FFFD. A text longer than a cell holds is cut, and says
// so; no entry of the log is as long. Only columns that COBie has for numbers hold numbers.
package cobie
