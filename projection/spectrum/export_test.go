package spectrum

// LeastWithin is Least with a budget of its own.
var LeastWithin = least

// ProveFromTheWorst searches without anything good to begin with, so that all
// depends on the proof.
func ProveFromTheWorst(p Problem, budget int) (Result, error) {
	s, err := newSearch(p)
	if err != nil {
		return Result{}, err
	}
	s.budget = budget
	s.best = make([]int, s.n)
	for v, own := range s.alone {
		for k := range own {
			if own[k] >= 0 {
				s.best[v] = k
			}
		}
	}
	s.bestCost = s.cost(s.best)
	s.prove()
	return s.result(p), nil
}

// ProveSpanFromTheWorst narrows down a span by search alone.
func ProveSpanFromTheWorst(apart [][]int) Spread {
	f := &fitting{apart: apart, n: len(apart)}
	for i := range apart {
		f.at = append(f.at, i*f.most())
	}
	f.span = (f.n - 1) * f.most()
	f.prove()
	return Spread{f.at, f.span, f.bound, f.span == f.bound}
}
