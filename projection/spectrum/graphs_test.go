package spectrum_test

import "pairwalk/projection/spectrum"

// The graphs of the checks, as matrices of who is next to whom.

// grid is the graph of cells of a box, next to each other also at corners: with
// depth 1 a king's moves on a board.
func grid(wide, long, deep int) [][]int {
	type cell struct{ x, y, z int }
	var cells []cell
	for x := range wide {
		for y := range long {
			for z := range deep {
				cells = append(cells, cell{x, y, z})
			}
		}
	}
	near := func(a, b int) bool { return a-b <= 1 && b-a <= 1 }
	return linked(len(cells), func(i, j int) bool {
		a, b := cells[i], cells[j]
		return near(a.x, b.x) && near(a.y, b.y) && near(a.z, b.z)
	})
}

// queens is the graph of the squares of a board, next to each other if a queen
// goes from one to the other.
func queens(n int) [][]int {
	return linked(n*n, func(i, j int) bool {
		x, y, u, v := i/n, i%n, j/n, j%n
		return x == u || y == v || x-u == y-v || x-u == v-y
	})
}

// mycielski is DIMACS's myciel graph: of order 2 a circle of five, and each next
// one doubles the nodes (the copies next to the neighbours of their originals) and
// adds one that is next to all copies.
func mycielski(order int) [][]int {
	if order == 2 {
		return linked(5, func(i, j int) bool { return (i+1)%5 == j || (j+1)%5 == i })
	}
	g := mycielski(order - 1)
	n := len(g)
	return linked(2*n+1, func(i, j int) bool {
		switch i, j = min(i, j), max(i, j); {
		case j < n:
			return g[i][j] == 1
		case j < 2*n:
			return i < n && g[i][j-n] == 1
		}
		return i >= n
	})
}

func complete(n int) [][]int { return linked(n, func(int, int) bool { return true }) }

func linked(n int, edge func(i, j int) bool) [][]int {
	g := make([][]int, n)
	for i := range g {
		g[i] = make([]int, n)
		for j := range g {
			if i != j && edge(i, j) {
				g[i][j] = 1
			}
		}
	}
	return g
}

func edges(g [][]int) int {
	sum := 0
	for _, row := range g {
		for _, d := range row {
			sum += d
		}
	}
	return sum / 2
}

// conflicts is the problem of a graph whose nodes each disturb each neighbour once.
func conflicts(g [][]int, channels int) spectrum.Problem {
	p := spectrum.Problem{Hubs: len(g)}
	for k := range channels {
		p.Channels = append(p.Channels, 11+k)
	}
	for _, row := range g {
		pair := make([]int64, len(g))
		for j, d := range row {
			pair[j] = int64(d)
		}
		p.Pair = append(p.Pair, pair)
	}
	return p
}

// costOf adds up what an assignment costs, on its own.
func costOf(p spectrum.Problem, channel []int) int64 {
	sum := int64(0)
	for i, c := range channel {
		for k, number := range p.Channels {
			if number == c && p.Alone != nil {
				sum += p.Alone[i][k]
			}
		}
		for j := range i {
			if channel[j] == c {
				sum += p.Pair[i][j]
			}
		}
	}
	return sum
}

// bruteForce tries every assignment. It tells the least cost, and of those that
// cost it the fewest off the channel they prefer.
func bruteForce(p spectrum.Problem) (cost int64, off int, ok bool) {
	at := make([]int, p.Hubs)
	var each func(i int)
	each = func(i int) {
		if i == p.Hubs {
			c, o := costOf(p, at), 0
			for h, want := range p.Prefer {
				if at[h] != want {
					o++
				}
			}
			if !ok || c < cost || c == cost && o < off {
				cost, off, ok = c, o, true
			}
			return
		}
		for k, number := range p.Channels {
			if p.Allowed == nil || p.Allowed[i][k] {
				at[i] = number
				each(i + 1)
			}
		}
	}
	each(0)
	return cost, off, ok
}
