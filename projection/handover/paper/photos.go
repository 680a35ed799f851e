package paper

import (
	"bytes"
	"fmt"

	"codeberg.org/go-pdf/fpdf"

	"pairwalk/projection/handover"
)

const (
	photoGap  mm = 6
	photoWide mm = 130 // one picture by itself
	photoTall mm = 100
	pairTall  mm = 80
	blankTall mm = 18 // the box of a picture that isn't there
	blankPad  mm = 3
)

// shot is a picture, or why there is none to see.
type shot struct {
	handover.Photo
	picture
	why string
}

func newShot(ph handover.Photo) shot {
	s := shot{Photo: ph}
	if ph.Content == nil {
		s.why = "This picture is not held by the maker of this pack."
		return s
	}
	var err error
	if s.picture, err = develop(ph.Content); err != nil {
		s.why = fmt.Sprintf("This picture can't be shown: %v.", err)
	}
	return s
}

// photos are one picture, or two beside each other.
type photos struct{ shots []shot }

func (ps *photos) lying(*press) bool { return false }

// boxes gives the largest width and height of each picture.
func (ps *photos) boxes(wide bool) (w, h mm) {
	if len(ps.shots) > 1 {
		return (min(width(wide), textWide) - photoGap) / 2, pairTall
	}
	return photoWide, photoTall
}

// size of a picture in its box. It is never larger than its pixels are fine: 72 to
// the inch.
func (s shot) size(w, h mm) (sw, sh mm) {
	iw, ih := mm(s.width)*pointMM, mm(s.height)*pointMM
	k := min(w/iw, h/ih, 1)
	return iw * k, max(ih*k, 0.2)
}

// words below a picture.
func (s shot) words(p *press, w mm) (caption, sum []string) {
	if s.Caption != "" {
		caption = p.regular.lines(s.Caption, tableType+0.5, w)
	}
	sum = p.regular.lines("SHA-256 "+s.SHA256, smallType, w)
	if half := len(s.SHA256) / 2; len(sum) > 1 {
		sum = p.regular.lines("SHA-256 "+s.SHA256[:half]+"\n"+s.SHA256[half:], smallType, w)
	}
	return caption, sum
}

func (s shot) blank(p *press, w mm) []string {
	return p.regular.lines(s.why, bodyType, w-2*blankPad)
}

// tall is the height of the picture or its box, and of all with its words.
func (s shot) tall(p *press, w, h mm) (frame, all mm) {
	frame = max(blankTall, line(bodyType)*mm(len(s.blank(p, w)))+2*blankPad)
	if s.why == "" {
		_, frame = s.size(w, h)
	}
	caption, sum := s.words(p, w)
	return frame, frame + 1.5 + line(tableType+0.5)*mm(len(caption)) + line(smallType)*mm(len(sum))
}

func (ps *photos) tall(p *press, wide bool) mm {
	w, h := ps.boxes(wide)
	var tall mm
	for _, s := range ps.shots {
		_, all := s.tall(p, w, h)
		tall = max(tall, all)
	}
	return tall
}

func (ps *photos) begin(p *press, wide bool) mm { return min(ps.tall(p, wide), p.full(wide)) }

func (ps *photos) set(p *press) {
	if len(ps.shots) > 1 && ps.tall(p, p.wide()) > p.full(p.wide()) {
		for _, s := range ps.shots { // words longer than a page
			(&photos{[]shot{s}}).set(p)
		}
		return
	}
	p.gap(1.5)
	p.need(ps.tall(p, p.wide()))
	w, h := ps.boxes(p.wide())
	x, top := leftEdge, p.y
	var last mm
	for _, s := range ps.shots {
		p.y = top
		s.set(p, x, w, h)
		last = max(last, p.y)
		x += w + photoGap
	}
	p.y = last + 4
}

func (s shot) set(p *press, x, w, h mm) {
	y := p.y
	frame, _ := s.tall(p, w, h)
	if s.why == "" {
		sw, sh := s.size(w, h)
		p.draw(func(pdf *fpdf.Fpdf) { s.show(pdf, x, y, sw, sh) })
	} else {
		p.frame(x, y, w, frame, 0.3, black)
		for i, l := range s.blank(p, w) {
			p.write(p.regular, bodyType, x+blankPad, y+blankPad+mm(i)*line(bodyType), l, black)
		}
	}
	p.y += frame + 1.5
	caption, sum := s.words(p, w)
	p.below(caption, tableType+0.5, x, black)
	p.below(sum, smallType, x, quiet)
}

// below writes the words under a picture; the longest go on on the next sheet.
func (p *press) below(lines []string, size pt, x mm, grey int) {
	for _, l := range lines {
		p.need(line(size))
		p.write(p.regular, size, x, p.y, l, grey)
		p.y += line(size)
	}
}

// show paints a picture. Pictures of one content are kept in the file once.
func (s shot) show(pdf *fpdf.Fpdf, x, y, w, h mm) {
	opts := fpdf.ImageOptions{ImageType: "JPG"}
	name := string(s.jpeg)
	pdf.RegisterImageOptionsReader(name, opts, bytes.NewReader(s.jpeg))
	pdf.ImageOptions(name, x, y, w, h, false, opts, 0, "")
	pdf.SetDrawColor(rule, rule, rule)
	pdf.SetLineWidth(0.1)
	pdf.Rect(x, y, w, h, "D")
}
