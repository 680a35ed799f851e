package paper

import (
	"fmt"

	"pairwalk/projection/handover"
)

// piece is a block that is ready to be set.
type piece interface {
	// lying says whether it has to begin on a sheet that lies on its long side.
	lying(p *press) bool
	// begin is the height without which it does not begin, on a sheet that lies or
	// does not.
	begin(p *press, wide bool) mm
	set(p *press)
}

// pieces readies the blocks of a part. Headings and
// cautions know what follows them, and
// pictures that follow each other stand in pairs.
func (p *press) pieces(blocks []handover.Block) ([]piece, error) {
	out := make([]piece, 0, len(blocks))
	var next piece
	for i := len(blocks) - 1; i >= 0; i-- {
		var ready piece
		switch b := blocks[i].(type) {
		case handover.Heading:
			ready = headline{b, next}
		case handover.Text:
			ready = paragraph{b.Text, bodyType}
		case handover.Caution:
			ready = caution{b.Text, next}
		case handover.Facts:
			ready = facts(b.Rows)
		case handover.Table:
			t, err := newTable(p, b)
			if err != nil {
				return nil, err
			}
			ready = t
		case handover.Drawing:
			ready = newPlan(b)
		case handover.Photo:
			if row, ok := next.(*photos); ok && len(row.shots) == 1 {
				row.shots = []shot{newShot(b), row.shots[0]}
				continue
			}
			ready = &photos{[]shot{newShot(b)}}
		default:
			return nil, fmt.Errorf("block %d is a %T, which paper does not know", i+1, b)
		}
		out = append([]piece{ready}, out...)
		next = ready
	}
	return out, nil
}

// setPart sets a chapter from the top of a page of its own.
func (p *press) setPart(part handover.Part) error {
	pieces, err := p.pieces(part.Blocks)
	if err != nil {
		return fmt.Errorf("part %q: %w", part.Title, err)
	}
	p.part = part.Title
	p.turn(len(pieces) > 0 && part.Lead == "" && pieces[0].lying(p))
	p.anchorHere(part.Title, 0)
	for _, l := range p.bold.lines(part.Title, partType, p.width()) {
		p.need(line(partType))
		p.write(p.bold, partType, leftEdge, p.y, l, black)
		p.y += line(partType)
	}
	p.y += 1
	p.stroke(leftEdge, p.y, leftEdge+p.width(), p.y, 0.5, black)
	p.y += 3.5
	if part.Lead != "" {
		paragraph{part.Lead, bodyType + 1}.set(p)
		p.y += 1
	}
	p.fresh = true
	for _, b := range pieces {
		b.set(p)
		p.fresh = false
	}
	return nil
}
