package handover

// Document is what a pack says, in the order it is read, apart from how it is
// laid out. Every rendering shows all of it and adds nothing. Text in letters that
// run from right to left stands between U+2068 and U+2069; a rendering isolates it
// or drops the two.
type Document struct {
	Title    string
	Under    string      // one line below the title
	Facts    [][2]string // the cover's names and values
	Practice bool        // every page says so
	Foot     string      // below every page
	Parts    []Part
}

// Part is a chapter that begins on a page of its own.
type Part struct {
	ID     string // stable and plain, such as caretaker; what links lead to
	Title  string
	Lead   string // one or two sentences under the title, "" for none
	Blocks []Block
}

// Block is one piece of a part: [Heading], [Text], [Caution], [Facts], [Table],
// [Drawing] or [Photo].
type Block interface{ block() }

// Heading begins a section of a part.
type Heading struct {
	Text    string
	NewPage bool // it begins on a page of its own
}

// Text is a paragraph.
type Text struct{ Text string }

// Caution is a sentence that somebody's safety may hang on. It is framed, and never
// parted from its frame.
type Caution struct{ Text string }

// Facts are names and their values, one a line.
type Facts struct{ Rows [][2]string }

// Table is rows under a head that is repeated on every page the table runs over.
// Cells wrap; nothing is cut off.
type Table struct {
	Caption string
	Columns []Column
	Rows    [][]string // as many cells as there are columns
	None    string     // what is said where there are no rows
}

// Column is the head of a column and its share of the width.
type Column struct {
	Head  string
	Share int
	Right bool // numbers, aligned to the right
}

// Drawing is a plan of a floor, in millimetres, y upwards. What it shows is in a
// table too. Nothing in it hangs on colour.
type Drawing struct {
	Caption string
	Min     [2]int64
	Max     [2]int64
	Lines   []Line
	Marks   []Mark
	Legend  []Mark // their labels say what each shape and fill means; At is unused
}

// Line is a polyline.
type Line struct {
	Points [][2]int64
	Style  LineStyle
}

// LineStyle says how a line is drawn.
type LineStyle string

// The styles of lines.
const (
	WallLine LineStyle = "wall"  // heavy
	WayLine  LineStyle = "way"   // thin: a hop on the way home
	RawLine  LineStyle = "doubt" // thin, broken: a hop that is not sure
)

// Mark is a device or hub on a drawing.
type Mark struct {
	At    [2]int64
	Shape Shape
	Fill  Fill
	Label string // its tag, shown where there is room
}

// Shape tells kinds apart.
type Shape string

// The shapes of marks.
const (
	Square   Shape = "square"
	Circle   Shape = "circle"
	Triangle Shape = "triangle"
	Diamond  Shape = "diamond"
	Star     Shape = "star"
	Cross    Shape = "cross"
)

// Fill tells states apart.
type Fill string

// The fills of marks.
const (
	Hollow Fill = "hollow"
	Half   Fill = "half"
	Solid  Fill = "solid"
)

// Photo is a picture beside the log. Where Content is nil the pack's maker did not
// hold it, and the place says so.
type Photo struct {
	SHA256  string
	Type    string
	Caption string
	Content []byte
}

func (Heading) block() {}
func (Text) block()    {}
func (Caution) block() {}
func (Facts) block()   {}
func (Table) block()   {}
func (Drawing) block() {}
func (Photo) block()   {}
