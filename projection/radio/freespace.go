package radio

import "math"

const lightspeed = 299_792_458 // m/s

// Nearest is the shortest distance in metres that any loss is worked out for;
// whatever is nearer counts as that. Nearer, two antennas are in each other's near
// field (the wavelength is 0.12 m at 2440 MHz and 0.35 m at 868), no formula here
// holds, and its logarithm would run away.
const Nearest = 0.1

func wavelength(mhz float64) float64 { return lightspeed / (mhz * 1e6) }

// FreeSpace is the loss in dB between isotropic antennas with nothing around them:
// ITU-R P.525, with the speed of light as it is.
func FreeSpace(mhz, metres float64) float64 {
	return 20 * math.Log10(4*math.Pi*max(metres, Nearest)/wavelength(mhz))
}
