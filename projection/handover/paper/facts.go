package paper

// facts are names and their values, one a line.
type facts [][2]string

const (
	factNames mm = 48
	factGap   mm = 4
)

func (f facts) lying(*press) bool { return false }

// fact is a name and its value in lines.
func (p *press) fact(row [2]string, wide bool) (names, values []string) {
	names = p.bold.lines(row[0], bodyType, factNames)
	values = p.regular.lines(row[1], bodyType, min(width(wide), textWide)-factNames-factGap)
	return names, values
}

func (f facts) begin(p *press, wide bool) mm {
	if len(f) == 0 {
		return 0
	}
	names, values := p.fact(f[0], wide)
	return min(factTall(max(len(names), len(values))), p.full(wide)/2)
}

func factTall(lines int) mm { return line(bodyType)*mm(lines) + 1.6 }

func (f facts) set(p *press) {
	for _, row := range f {
		names, values := p.fact(row, p.wide())
		tall := factTall(max(len(names), len(values)))
		if tall > p.room() && tall <= p.full(false) {
			p.turn(false)
			names, values = p.fact(row, false)
		}
		p.setFact(names, values)
	}
	if len(f) > 0 {
		p.y += 2.5
	}
}

func (p *press) setFact(names, values []string) {
	h := line(bodyType)
	for len(names)+len(values) > 0 {
		if p.room() < factTall(1) {
			p.turn(p.wide())
		}
		n := max(1, min(int((p.room()-1.6)/h), max(len(names), len(values))))
		p.pillar(names[:min(n, len(names))], p.bold, leftEdge)
		p.pillar(values[:min(n, len(values))], p.regular, leftEdge+factNames+factGap)
		names, values = names[min(n, len(names)):], values[min(n, len(values)):]
		p.y += factTall(n)
		p.stroke(leftEdge, p.y-0.8, leftEdge+p.column(), p.y-0.8, 0.1, rule)
	}
}

func (p *press) pillar(lines []string, f *face, x mm) {
	for i, l := range lines {
		p.write(f, bodyType, x, p.y+mm(i)*line(bodyType), l, black)
	}
}
