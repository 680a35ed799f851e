package radio

import "math"

type matrix [parts][parts]float64

// along is vᵀ·m·v.
func (m *matrix) along(v *vector) float64 {
	sum := 0.0
	for i := range m {
		sum += v[i] * v.dot((*vector)(&m[i]))
	}
	return max(sum, 0)
}

// inverse inverts a symmetric positive definite matrix by Cholesky: m = L·Lᵀ.
func (m *matrix) inverse() matrix {
	var l matrix
	for i := range parts {
		for j := range i + 1 {
			sum := m[i][j]
			for k := range j {
				sum -= l[i][k] * l[j][k]
			}
			if i == j {
				l[i][i] = math.Sqrt(sum)
			} else {
				l[i][j] = sum / l[j][j]
			}
		}
	}
	var out matrix
	for c := range parts { // solve m·x = e(c)
		var y vector
		for i := range parts {
			if i == c {
				y[i] = 1
			}
			for k := range i {
				y[i] -= l[i][k] * y[k]
			}
			y[i] /= l[i][i]
		}
		for i := parts - 1; i >= 0; i-- {
			for k := i + 1; k < parts; k++ {
				y[i] -= l[k][i] * y[k]
			}
			y[i] /= l[i][i]
		}
		for i := range parts {
			out[i][c] = y[i]
		}
	}
	return out
}

func (m *matrix) times(v *vector) vector {
	var out vector
	for i := range m {
		out[i] = v.dot((*vector)(&m[i]))
	}
	return out
}
