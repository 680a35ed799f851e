package radio

// The tables of ITU-R P.1238, by edition. All were seen in secondary texts that
// quote them, not in the recommendation itself.

// column is a kind of building in the tables of edition -10.
type column int

const (
	residential column = iota
	office
	commercial
)

// storeys is a column of the floor loss: apartments and houses differ at 2.4 GHz.
type storeys int

const (
	apartment storeys = iota
	house
	offices
	shops
)

// floorLoss is Lf: so many dB for the first floors, and step for each further one.
type floorLoss struct {
	first    []float64
	step     float64
	extended bool // the table ends with first; step is ours
}

// at is the loss through n floors; none, none.
func (l floorLoss) at(n int) float64 {
	switch k := len(l.first); {
	case n <= 0:
		return 0
	case n <= k:
		return l.first[n-1]
	default:
		return l.first[k-1] + l.step*float64(n-k)
	}
}

// bandRow is a row of P.1238-10, tables 2 and 3. A coefficient of 0 and a loss of
// no floors are gaps.
type bandRow struct {
	name     string
	from, to float64 // MHz
	n        [3]float64
	lf       [4]floorLoss
}

// onceOnly is a loss that the table gives for one floor only: each further one
// adds 4 dB, as it does in the row for 1.8–2 GHz.
func onceOnly(db float64) floorLoss { return floorLoss{[]float64{db}, 4, true} }

// edition10 is ITU-R P.1238-10 (2019), tables 2 and 3. Where residential
// coefficients at 5.2 GHz differ, that of apartments is kept: none of our radios is
// there, and the row only keeps a carrier in between from the wrong neighbour.
var edition10 = []bandRow{
	{"0.9 GHz", 900, 900, [3]float64{0, 33, 20}, [4]floorLoss{{}, {}, {[]float64{9, 19, 24}, 5, true}, {}}},
	{"1.2–1.3 GHz", 1200, 1300, [3]float64{0, 32, 22}, [4]floorLoss{}},
	{"1.8–2 GHz", 1800, 2000, [3]float64{28, 30, 22}, [4]floorLoss{
		{[]float64{4}, 4, false}, {[]float64{4}, 4, false}, {[]float64{15}, 4, false}, {[]float64{6}, 3, false}}},
	{"2.4 GHz", 2400, 2400, [3]float64{28, 30, 0}, [4]floorLoss{onceOnly(10), onceOnly(5), onceOnly(14), {}}},
	{"5.2 GHz", 5200, 5200, [3]float64{30, 31, 0}, [4]floorLoss{{}, {}, onceOnly(16), {}}},
}

// sigma10 is the shadowing of P.1238-10, table 4, at 1.8–2 GHz, by column.
var sigma10 = [3]float64{8, 10, 10}

// site is a row of ITU-R P.1238-13 (2025), equation 1: between antennas on one
// floor L = 10·α·log d + β + 10·γ·log f, f in GHz.
type site struct {
	alpha, beta, gamma, sigma float64
	from, to                  float64 // metres
}

// models are in the order in which people are shown them.
var models = []Model{
	{ID: "p1238-10-office", form: byTable, row: "office", column: office, storeys: offices},
	{ID: "p1238-10-commercial", form: byTable, row: "commercial", column: commercial, storeys: shops},
	{ID: "p1238-10-residential-apartment", form: byTable, row: "residential, apartment", column: residential, storeys: apartment},
	{ID: "p1238-10-residential-house", form: byTable, row: "residential, house", column: residential, storeys: house},
	{ID: "p1238-13-office-los", form: bySite, row: "office, line of sight", site: site{1.47, 34.17, 2.08, 3.68, 2, 27}},
	{ID: "p1238-13-office-nlos", form: bySite, row: "office, no line of sight", site: site{2.39, 30.13, 2.40, 5.01, 4, 30}},
	{ID: "p1238-13-corridor-los", form: bySite, row: "corridor, line of sight", site: site{1.57, 29.46, 2.24, 3.77, 2, 160}},
	{ID: "p1238-13-corridor-nlos", form: bySite, row: "corridor, no line of sight", site: site{2.78, 28.62, 2.54, 7.58, 3, 94}},
	{ID: "p1238-13-industrial-los", form: bySite, row: "industrial, line of sight", site: site{2.27, 24.79, 2.10, 2.62, 2, 102}},
	{ID: "p1238-13-industrial-nlos", form: bySite, row: "industrial, no line of sight", site: site{2.80, 23.55, 2.16, 5.70, 3, 110}},
	{ID: "p1238-13-conference-los", form: bySite, row: "conference, line of sight", site: site{1.56, 30.47, 2.23, 2.92, 2, 21}},
	{ID: "p1238-13-conference-nlos", form: bySite, row: "conference, no line of sight", site: site{1.40, 39.53, 2.37, 3.33, 4, 25}},
	{ID: "p525", form: inFreeSpace, row: "free space"},
}
