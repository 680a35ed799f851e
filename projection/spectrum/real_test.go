package spectrum_test
import ("testing";"math";"math/rand/v2";"time";"pairwalk/projection/spectrum")
func real(seed uint64, n, ch int, dx, dz float64, wifi bool, fixed int) spectrum.Problem {
	dice := rand.New(rand.NewPCG(seed, 9))
	p := spectrum.Problem{Hubs:n}
	for k := range ch { p.Channels = append(p.Channels, 11+k) }
	cols := int(math.Ceil(math.Sqrt(float64(n))))
	dev := make([]float64,n)
	for i := range dev { dev[i]=float64(10+dice.IntN(190)) }
	p.Pair = make([][]int64,n)
	for i := range n { p.Pair[i]=make([]int64,n) }
	for i := range n { for j := range i {
		fl := math.Abs(float64(i/cols-j/cols)); x := math.Abs(float64(i%cols-j%cols))*dx
		d := math.Max(3, math.Hypot(x, fl*dz))
		loss := 39.75+30*math.Log10(d); if fl>0 { loss += 15+4*(fl-1) }
		m := 95-loss+dice.Float64()*3
		ph := 0.5*math.Erfc(-m/11/math.Sqrt2)
		w := int64(1000*(dev[i]+dev[j])*ph)
		p.Pair[i][j],p.Pair[j][i]=w,w
	}}
	if wifi { p.Alone=make([][]int64,n); for i := range n { p.Alone[i]=make([]int64,ch); 
		for _, c := range []float64{2412,2437,2462} { pr := dice.Float64(); for k := range ch { if math.Abs(2405+5*float64(k)-c)<11 { p.Alone[i][k]=int64(1000*dev[i]*pr)} } } } }
	p.Prefer=make([]int,n); for i := range n { p.Prefer[i]=25 }
	return p
}
func TestReal(t *testing.T) {
	for _, c := range []struct{n,ch int; dx,dz float64; wifi bool}{{25,16,10,3,false},{25,16,10,3,true},{25,16,30,3.5,false},{25,16,30,3.5,true},{25,4,10,3,false},{25,4,30,3.5,true},{25,16,60,4,true},{25,16,60,4,false},{16,4,10,3,true},{25,8,10,3,true},{40,16,10,3,true}} {
		for seed := range uint64(2) {
			p := real(seed,c.n,c.ch,c.dx,c.dz,c.wifi,0)
			at := time.Now()
			r, err := spectrum.Least(p)
			t.Log(c, seed, r.Cost, r.LowerBound, r.Exact, r.Nodes, time.Since(at), err)
		}
	}
}
