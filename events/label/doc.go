// Package label reads what a device's label says; it knows nothing of events.
//
// # The cast
//
// [Read] takes the text that a scanner or somebody's fingers give and makes a
// [Reading] of it: the serial to record, and what else of the label may be kept.
// Below it each published form has its own function: [ParseEUI64], [ParseEUI48],
// [ParseGTIN], [ParseGS1], [ParseLink], [ParseMatterQR], [ParseMatterManual],
// [IsInstallCode] and [Code128Check].
//
// # The law of secrets
//
// A label may hold what lets anybody take the device over: an install code, a
// Matter setup code. A log is copied to many people and never forgets, so:
//
//   - a secret is in no field of a Reading and in no error; errors and notes
//     repeat nothing that the label says but makers' numbers;
//   - what is not known is not kept, unless it looks like a plain serial;
//   - what may be a secret with a slip in it is not kept either: a hex string as
//     long as an install code whose CRC does not fit, 21 digits, 11 digits in
//     groups of 4, 3 and 4, anything that begins with MT:;
//   - where a secret stands beside other things, only what a published form
//     proves is kept: an EUI, a GS1 element string, a Digital Link.
//
// What is kept is the canonical form, in ASCII, never the text as it came.
//
// # What the forms are
//
//	eui64          16 hex digits, undivided or parted by - : or a space after every 2
//	               or 4; not with the group bit, 0x01 of the first octet (IEEE 802)
//	eui48          12 hex digits parted so after every 2, or undivided with at least
//	               one letter among them
//	gs1            GS1 element string, as scanned (fields of variable length end at
//	               GS, 0x1D) or as printed, (01)…(21)…
//	digital-link   GS1 Digital Link URI, https://any.host/01/GTIN/21/SERIAL
//	install-code   6, 8, 12 or 16 bytes and their CRC, in hex: a secret
//	matter-qr      MT: and base-38: a secret
//	matter-manual  11 or 21 digits with a Verhoeff check digit: a secret
//	plain          up to 24 letters, digits and - . / _ or single spaces inside,
//	               a digit among them
//
// A symbology identifier (ISO/IEC 15424: ] and two characters) at the front is
// taken off. ]C1, ]e0, ]d2, ]Q3 and ]J1 say that all that follows is a GS1
// element string; without them one is known by its brackets, or by 01 and a
// GTIN with the right check digit.
//
// # Several things on one label
//
// A text that is no form as a whole is cut at white space, | and GS, and then at
// ; and , where a part is still unknown. Parts that stand side by side are also
// read together, since codes are printed in groups. The serial is the one that
// GS1 gives (21, 8003, 8004), else the EUI-64, else the EUI-48. Two units or two
// products on one label are an error: somebody scanned two labels.
//
// GS1 allows ; and , in a value. Where the symbology does not say that all of the
// text is GS1, a value is taken to end there if what follows is known by itself,
// and is else refused. Of an element string only what names the unit or its make
// is kept: not the company's own 91 to 99, and no web addresses.
//
// # What can't be told apart
//
//   - 16 hex digits are an EUI-64, or a 6-byte install code if the CRC happens to
//     fit, which it does for 1 EUI-64 in 65536. That one is refused.
//   - 11 digits are a Matter setup code if the check digit fits, which it does
//     for 1 plain serial in 10. That one is taken for a secret; in a GS1 element
//     (21) it is a serial.
//   - A passcode alone is a number of 8 digits, and so are serials. It is refused
//     only beside a word such as PIN or code.
//   - Half an install code, or one of 8 bytes without its CRC, looks like an
//     EUI-64.
package label
