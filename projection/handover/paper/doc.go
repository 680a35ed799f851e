// Package paper prints a pack's document as a PDF: A4, black on white, to be read at
// arm's length, filed, and copied on any machine. It lays out the blocks that
// [handover.Document] is made of, shows all of them and adds nothing.
//
// # How it is set
//
// [Write] makes two passes. The first one (a press) breaks text to lines and blocks
// to sheets, and notes for every sheet what is to be painted; then it is known how
// many sheets there are and on which one each part begins, so the contents can be
// set and every page can say which of how many it is. The second one paints.
//
//	cover, contents, then each part from a page of its own
//	above each page   the title, PRACTICE on a practice site, the part
//	below each page   the document's foot, and page n of m
//	beside it         an outline of parts and headings; the contents are links
//
// A page stands upright unless a table or a drawing is better off across: a table
// whose words would have to be broken, or whose rows would be deep and need not be;
// a drawing that would be a quarter larger.
//
// # Laws
//
//   - Nothing is cut off. Text wraps (Unicode's rules, UAX 14), a word wider than
//     its column is broken, what is taller than a page goes on on the next one. The
//     one exception is what is repeated: the titles above a page and the caption of
//     a table that goes on are shortened to a line, a foot to six; a table whose head
//     takes half a page is refused.
//   - A heading never stands alone at the foot of a page, nor does one line of a
//     paragraph. A row is parted only where it is taller than a page, a caution too,
//     and each piece has its frame.
//   - Nothing hangs on colour or on a grey: shapes, fills, line weights and words do.
//   - No type is smaller than 7.5 points, but for the tags on a drawing (6.5), which
//     stand in a table too.
//   - What a column is given is the document's share, except that no column breaks
//     words or lines while another has more than it can use.
//
// # Characters
//
// The typeface is DejaVu Sans Condensed, inside the program: Latin, Greek, Cyrillic,
// Armenian, Georgian, Hebrew and Arabic letters, punctuation, arrows, technical and
// mathematical signs; no Chinese, Japanese, Korean or Indic script, and none of the
// characters beyond the first 65,536, such as most emoji. What it lacks is spelled
// out, as [U+1F600], and so is whatever would not be seen or would act on the text
// around it: controls, characters that turn the direction, joiners, variation
// selectors, a third mark on one letter. A byte that is no UTF-8 is shown as [0xFF].
// Text is composed first (NFC). Right-to-left letters stand in their order (UAX 9,
// in lines that run from left to right as a whole), without the two characters that
// a document sets about them; Arabic letters do not join.
//
// # Pictures
//
// A picture is opened only if it says that it has no more than 32 million pixels. It
// is printed upright, with up to 1,600 pixels along its longer side, as a JPEG made
// anew, so that nothing else a file may carry gets in. What can't be opened becomes a
// box that says why; it is never an error. Under each picture stands its SHA-256.
//
// # The same bytes
//
// One document gives the same bytes each time: no clock (the file says it was made
// at the start of 1970), no order of maps, no chance. Lengths are floating-point
// numbers rounded to a hundredth of a point; programs built by different compilers,
// or for different processors, may differ there.
package paper
