package graph

// Million is one, in the millionths that shares and ETX are counted in.
const Million = 1_000_000

// ETX is how many transmissions one delivery over a link takes on average, in
// millionths, if shares of the packets get through one way and of the
// acknowledgements the other, in millionths: 1/(df·dr), after De Couto et al.
// (MobiCom 2003). Shares below a thousandth count as one.
func ETX(forward, back int64) int64 {
	forward, back = clamp(forward), clamp(back)
	den := forward * back
	num := int64(Million) * Million * Million
	return (num + den/2) / den
}

func clamp(share int64) int64 { return min(max(share, Million/1000), Million) }
