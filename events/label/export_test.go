package label

// What only tests may see.
var (
	CRC16    = crc16
	Verhoeff = verhoeff
	Base38   = base38
	MayPass  = mayPass
)

// PasscodeQR is the passcode of one QR code without its MT:.
func PasscodeQR(text string) (uint32, bool) {
	_, p, ok := matterBits(text)
	return p, ok
}

// PasscodeManual is the passcode of a manual code's digits.
func PasscodeManual(digits string) (uint32, bool) {
	_, p, ok := matterDigits(digits)
	return p, ok
}
