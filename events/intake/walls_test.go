package intake_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/events/intake"
)

// onTwoFloors is a site with two floors and nothing else.
func onTwoFloors() intake.Options {
	return intake.Options{Site: intake.Listing{Floors: map[events.FloorID]events.FloorListed{"B1": {Floor: "B1", Level: -1}, "2": {Floor: "2", Level: 2}}}}
}

func TestAWallIsRead(t *testing.T) {
	line := func(v ...int64) []events.XY {
		var out []events.XY
		for i := 0; i < len(v); i += 2 {
			out = append(out, events.XY{X: v[i], Y: v[i+1]})
		}
		return out
	}
	for _, tt := range []struct {
		name, file string
		want       events.WallListed
	}{
		{"plain", "floor,material,thickness_mm,points\n2,concrete,150,0 0; 5.5 0; 5.5 3\n",
			events.WallListed{Wall: "2: 0 0; 5.5 0; 5.5 3", Floor: "2", Material: "concrete", Thickness: 150, Line: line(0, 0, 5500, 0, 5500, 3000)}},
		{"with a name", "wall,floor,material,thickness_mm,points\nW1,2,concrete,150,0 0; 5.5 0\n",
			events.WallListed{Wall: "W1", Floor: "2", Material: "concrete", Thickness: 150, Line: line(0, 0, 5500, 0)}},
		{"other words", "Storey,Made of,Thickness (m),Line,Wall name\nB1,DRY WALL,\"0,1\",\"0 0; 1,5 2,25\",x\n",
			events.WallListed{Wall: "x", Floor: "B1", Material: "plasterboard", Thickness: 100, Line: line(0, 0, 1500, 2250)}},
		{"a plasterboard, to the nearest mm", "floor,material,thickness_mm,points\n2,gypsum,12.5,0 0; 1 0\n",
			events.WallListed{Wall: "2: 0 0; 1 0", Floor: "2", Material: "plasterboard", Thickness: 13, Line: line(0, 0, 1000, 0)}},
		{"feet", "floor,material,thickness_ft,points_ft\n2,timber,0.5,0 0; 10 0\n",
			events.WallListed{Wall: "2: 0 0; 3.048 0", Floor: "2", Material: "wood", Thickness: 152, Line: line(0, 0, 3048, 0)}},
		{"semicolons in a file of them", "floor;material;thickness_mm;points\n2;steel;1;\"0 0; 1,234 -2\"\n",
			events.WallListed{Wall: "2: 0 0; 1.234 -2", Floor: "2", Material: "metal", Thickness: 1, Line: line(0, 0, 1234, -2000)}},
		{"points in millimetres", "floor,material,thickness_mm,points_mm\n2,brick,115,0 0; 5500 0\n",
			events.WallListed{Wall: "2: 0 0; 5.5 0", Floor: "2", Material: "brick", Thickness: 115, Line: line(0, 0, 5500, 0)}},
		{"line breaks between points, commas after x, a separator too many", "floor,material,thickness_mm,points\n2,glazing,6,\"0, 0\n1.5, 2;;\n3 4;\"\n",
			events.WallListed{Wall: "2: 0 0; 1.5 2; 3 4", Floor: "2", Material: "glass", Thickness: 6, Line: line(0, 0, 1500, 2000, 3000, 4000)}},
		{"a point twice in a row is one", "floor,material,thickness_mm,points\n2,particle board,18,0 0; 0 0.0001; 2 0\n",
			events.WallListed{Wall: "2: 0 0; 2 0", Floor: "2", Material: "chipboard", Thickness: 18, Line: line(0, 0, 2000, 0)}},
		{"the name doesn't hang on the way it runs", "floor,material,thickness_mm,points\n2,brick,115,5.5 0; 0 0\n",
			events.WallListed{Wall: "2: 0 0; 5.5 0", Floor: "2", Material: "brick", Thickness: 115, Line: line(5500, 0, 0, 0)}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			sheet := good(t, tt.file, onTwoFloors())
			require.Equal(t, intake.Walls, sheet.Kind)
			require.Equal(t, []intake.Row{{Number: 2, Payload: tt.want}}, sheet.Rows)
			require.Empty(t, sheet.Notes)
		})
	}
}

func TestEveryMaterialIsItsOwnWord(t *testing.T) {
	for _, m := range intake.Materials() {
		t.Run(m, func(t *testing.T) {
			sheet := good(t, "floor,material,thickness_mm,points\n2,"+m+",10,0 0; 1 0\n")
			require.Equal(t, m, sheet.Rows[0].Payload.(events.WallListed).Material)
		})
	}
}

func TestBadWalls(t *testing.T) {
	const materials = "concrete, brick, plasterboard, wood, glass, chipboard, plywood, marble, ceiling-board, metal"
	long := strings.Repeat("1 1; 2 2; ", 501)
	for _, tt := range []struct {
		name, row string // floor, material, thickness_mm, points
		want      string
	}{
		{"no floor", `,brick,115,0 0; 1 0`, "row 2, column floor: is empty; write its name as the floors sheet does, such as B1"},
		{"an unknown floor", `3,brick,115,0 0; 1 0`, `row 2, column floor: "3" is not a floor of the site; the site's floors are 2, B1`},
		{"a floor misspelt", `b1,brick,115,0 0; 1 0`, `row 2, column floor: "b1" is not a floor of the site; did you mean B1?`},
		{"no material", `2,,115,0 0; 1 0`, "row 2, column material: is empty; write one of " + materials},
		{"a material misspelt", `2,conrete,115,0 0; 1 0`, `row 2, column material: "conrete" is not a material that is known here; did you mean concrete? (` + materials + `)`},
		{"a material by another word, misspelt", `2,dryvall,115,0 0; 1 0`, `row 2, column material: "dryvall" is not a material that is known here; did you mean plasterboard? (` + materials + `)`},
		{"a material that is none", `2,paper,115,0 0; 1 0`, `row 2, column material: "paper" is not a material that is known here; write one of ` + materials},
		{"no thickness", `2,brick,,0 0; 1 0`, "row 2, column thickness_mm: is empty; write how thick the wall is"},
		{"metres called mm", `2,brick,0.115,0 0; 1 0`, `row 2, column thickness_mm: "0.115" is not between 0.001 m and 3 m; is the unit in the column's heading right?`},
		{"a fortress", `2,brick,11500,0 0; 1 0`, `row 2, column thickness_mm: "11500" is not between 0.001 m and 3 m; is the unit in the column's heading right?`},
		{"no points", `2,brick,115,`, "row 2, column points: is empty; write them like 0 0; 5.5 0; 5.5 3"},
		{"separators alone", `2,brick,115,;;`, "row 2, column points: has no point; write them like 0 0; 5.5 0; 5.5 3"},
		{"one point", `2,brick,115,1 0`, `row 2, column points: "1 0" is a single place, and a wall goes from one to another; write them like 0 0; 5.5 0; 5.5 3`},
		{"points that are all one", `2,brick,115,1 0; 1.0 0; 1 0.0004`, `row 2, column points: "1 0; 1.0 0; 1 0.0004" is a single place, and a wall goes from one to another; write them like 0 0; 5.5 0; 5.5 3`},
		{"half a point", `2,brick,115,0 0; 1`, `row 2, column points: "1" is not a point, which has an x and a y; write them like 0 0; 5.5 0; 5.5 3`},
		{"a point with a height", `2,brick,115,0 0 0; 1 0 0`, `row 2, column points: "0 0 0" is not a point, which has an x and a y; write them like 0 0; 5.5 0; 5.5 3`},
		{"a comma that may be anything", `2,brick,115,"0,0; 5,0"`, `row 2, column points: "0,0" may be one number or two: write x and y with a space between; write them like 0 0; 5.5 0; 5.5 3`},
		{"perhaps thousands", `2,brick,115,"0 0; 1,234 0"`, `row 2, column points: "1,234" may be a fraction or thousands: write 1234 or 1.2340; write them like 0 0; 5.5 0; 5.5 3`},
		{"words", `2,brick,115,door; window`, `row 2, column points: "door" is not a point, which has an x and a y; write them like 0 0; 5.5 0; 5.5 3`},
		{"another country", `2,brick,115,0 0; 9000 0`, `row 2, column points: is 9000 m from the place on row 2; is the unit in the column's heading right?`},
		{"another planet", `2,brick,115,99999999 0; 1 0`, `row 2, column points: "99999999" is further than 1000000 m away; write them like 0 0; 5.5 0; 5.5 3`},
		{"a coastline", `2,brick,115,` + long, "row 2, column points: has 1002 points, and the most is 1000; split the wall"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			sheet := read(t, "floor,material,thickness_mm,points\n"+tt.row+"\n", onTwoFloors())
			require.Equal(t, []string{tt.want}, texts(sheet.Problems))
			require.Empty(t, sheet.Rows)
		})
	}
	sheet := read(t, "wall,floor,material,thickness_mm,points\nW1,2,brick,115,0 0; 1 0\nW1,2,brick,115,0 0; 2 0\n")
	require.Equal(t, []string{`row 3, column wall: "W1" is on row 2 already; give each its own row and name`}, texts(sheet.Problems))
	sheet = read(t, "floor;material;thickness_mm;points\n2;brick;115;0 0; 1 0\n")
	require.Equal(t, "row 2: has 5 cells, but the header row only 4; a cell with the separator in it belongs in quotation marks", sheet.Problems[0].String())
}

func TestAFloorNobodyListedIsFineWhereNoneIs(t *testing.T) {
	require.Empty(t, read(t, "floor,material,thickness_mm,points\nattic,brick,115,0 0; 1 0\n").Problems)
}

func TestTheSameWallTwiceIsOneTooMany(t *testing.T) {
	const twice = "row 3, column points: the same wall is on row 2 already; of two layers write the thickness of both together, or give each a name in a column wall"
	for _, tt := range []struct {
		name, rows string // wall, floor, material, thickness_mm, points
		want       []string
	}{
		{"written twice", ",2,brick,115,0 0; 1 0\n,2,brick,115,0 0; 1 0\n", []string{twice}},
		{"backwards, and thinner", ",2,brick,115,0 0; 1 0\n,2,brick,100,1 0; 0 0\n", []string{twice}},
		{"one of them named", "W1,2,brick,115,0 0; 1 0\n,2,brick,115,0 0; 1 0\n", []string{twice}},
		{"the other one named", ",2,brick,115,0 0; 1 0\nW1,2,brick,115,0 0; 1 0\n", []string{twice}},
		{"both named are two layers", "W1,2,brick,115,0 0; 1 0\nW2,2,brick,115,0 0; 1 0\n", []string{}},
		{"of two materials they are two layers", ",2,brick,115,0 0; 1 0\n,2,drywall,13,0 0; 1 0\n", []string{}},
		{"on two floors they are two walls", ",2,brick,115,0 0; 1 0\n,B1,brick,115,0 0; 1 0\n", []string{}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			sheet := read(t, "wall,floor,material,thickness_mm,points\n"+tt.rows)
			require.Equal(t, tt.want, texts(sheet.Problems))
			require.Len(t, sheet.Rows, 2-len(tt.want))
		})
	}
}

// Each story imports a file of walls into what the ones before it made.
func TestImportingWallsAgain(t *testing.T) {
	const head = "floor,material,thickness_mm,points\n"
	const two = head + "2,concrete,150,0 0; 8 0\n2,brick,115,0 0; 0 6\n"
	for _, tt := range []struct {
		name   string
		before []string
		file   string
		want   []string
	}{
		{"a first time", nil, two, []string{"add: wall 2: 0 0; 8 0 on floor 2: concrete (row 2)", "add: wall 2: 0 0; 0 6 on floor 2: brick (row 3)", "0 the same"}},
		{"the same again", []string{two}, two, []string{"2 the same"}},
		{"in another order, and backwards", []string{two}, head + "2,brick,115,0 6; 0 0\n2,concrete,150,8 0; 0 0\n", []string{"2 the same"}},
		{"another material", []string{two}, head + "2,concrete,150,0 0; 8 0\n2,glass,8,0 0; 0 6\n", []string{
			`amend: wall 2: 0 0; 0 6: material "glass", was "brick"; thickness "8 mm", was "115 mm" (row 3)`, "1 the same"}},
		{"another line is another wall", []string{two}, head + "2,concrete,150,0 0; 9 0\n2,brick,115,0 0; 0 6\n", []string{
			"add: wall 2: 0 0; 9 0 on floor 2: concrete (row 2)", "strike? wall 2: 0 0; 8 0: no row names it", "1 the same"}},
		{"a layer more", []string{two}, two + "2,drywall,13,0 0; 0 6\n", []string{"add: wall 2: 0 0; 0 6 plasterboard on floor 2: plasterboard (row 4)", "2 the same"}},
		{"the layers again", []string{two, two + "2,drywall,13,0 0; 0 6\n"}, two + "2,drywall,13,0 0; 0 6\n", []string{"3 the same"}},
		{"the layers in another order", []string{two, two + "2,drywall,13,0 0; 0 6\n"}, head + "2,drywall,13,0 0; 0 6\n2,brick,115,0 0; 0 6\n2,concrete,150,0 0; 8 0\n", []string{"3 the same"}},
		{"both layers become one", []string{two, two + "2,drywall,13,0 0; 0 6\n"}, head + "2,glass,6,0 0; 0 6\n2,concrete,150,0 0; 8 0\n", []string{
			`amend: wall 2: 0 0; 0 6: material "glass", was "brick"; thickness "6 mm", was "115 mm" (row 2)`,
			"strike? wall 2: 0 0; 0 6 plasterboard: no row names it", "1 the same"}},
		{"a file without names finds the named ones", []string{"wall,floor,material,thickness_mm,points\nW1,2,brick,115,0 0; 0 6\n"},
			head + "2,brick,115,0 0; 0 6\n", []string{"1 the same"}},
		{"a named wall may move", []string{"wall,floor,material,thickness_mm,points\nW1,2,brick,115,0 0; 0 6\n"},
			"wall,floor,material,thickness_mm,points\nW1,2,brick,115,0 0; 0 7\n", []string{`amend: wall W1: points "0 0; 0 7", was "0 0; 0 6" (row 2)`, "0 the same"}},
		{"a name that another wall goes by", []string{"wall,floor,material,thickness_mm,points\n2: 0 0; 8 0,2,concrete,150,0 0; 9 0\n"}, head + "2,concrete,150,0 0; 8 0\n", []string{
			"add: wall 2: 0 0; 8 0 concrete on floor 2: concrete (row 2)", "strike? wall 2: 0 0; 8 0: no row names it", "0 the same"}},
		{"a bad row strikes nothing of its own", []string{two}, head + "2,concrete,150,0 0; 8 0\n2,paper,115,0 0; 0 6\n", []string{"1 the same"}},
		{"one that can't be read strikes nothing at all", []string{two}, head + "2,concrete,150,0 0; 8 0\n2,brick,115,what\n", []string{"1 the same"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			site := imported(t, tt.before...)
			sheet := read(t, tt.file, intake.Options{Site: site})
			require.Equal(t, tt.want, strings.Split(strings.TrimSpace(sheet.Diff(site).String()), "\n"))
		})
	}
}

// A name must fit, and no two lines may share one.
func TestLongWallsHaveNamesOfTheirOwn(t *testing.T) {
	file := "floor,material,thickness_mm,points\n"
	for i := range 3 {
		file += fmt.Sprintf("a floor with quite a long name for one,brick,115,%s %d 9\n", strings.Repeat("1 1; 2 2; ", 20), i)
	}
	site := imported(t, file)
	require.Len(t, site.Walls, 3)
	for name := range site.Walls {
		require.LessOrEqual(t, len([]rune(name)), 64)
	}
	require.Equal(t, 3, good(t, file, intake.Options{Site: site}).Diff(site).Same)
	changed := strings.ReplaceAll(file, "brick", "glass")
	require.Contains(t, good(t, changed, intake.Options{Site: site}).Diff(site).String(), `material "glass", was "brick"`)
}

// Whatever walls a site has and whatever file comes, once its diff is applied
// there is nothing left to do, and no more walls than rows.
func TestWallsAreDoneInOneGo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		site := intake.Listing{}
		for range 3 {
			names := rapid.Bool().Draw(t, "names")
			file := "floor,material,thickness_mm,points"
			if names {
				file += ",wall"
			}
			file += "\n"
			for range rapid.IntRange(1, 5).Draw(t, "rows") {
				ends := rapid.SliceOfN(rapid.IntRange(0, 2), 4, 4).Draw(t, "ends")
				file += fmt.Sprintf("%s,%s,%d,%d %d; %d %d", rapid.SampledFrom([]string{"1", "2"}).Draw(t, "floor"), rapid.SampledFrom([]string{"brick", "glass"}).Draw(t, "material"),
					rapid.IntRange(1, 2).Draw(t, "mm"), ends[0], ends[1], ends[2], ends[3])
				if names {
					file += "," + rapid.SampledFrom([]string{"", "", "W1", "W2"}).Draw(t, "wall")
				}
				file += "\n"
			}
			sheet, err := intake.Read(strings.NewReader(file), intake.Options{Site: site})
			require.NoError(t, err)
			if len(sheet.Problems) > 0 {
				continue
			}
			site = apply(site, sheet.Diff(site).Payloads(intake.Accept{Strikes: true}))
			require.Len(t, site.Walls, len(sheet.Rows), "of\n%s", file)
			again, err := intake.Read(strings.NewReader(file), intake.Options{Site: site})
			require.NoError(t, err)
			require.True(t, again.Diff(site).Empty(), "of\n%s is left\n%s", file, again.Diff(site))
		}
	})
}
