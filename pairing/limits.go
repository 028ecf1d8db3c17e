package pairing

// rounding is the most by which a kinship may be off through rounding.
const rounding = 1e-12

// TooClose reports whether F of a chick, or the kinship of two birds, is at a limit
// or above it. No inbreeding at all never is.
func TooClose(f, limit float64) bool { return f > closeFrom(limit) }

// closeFrom returns what F must be above to be TooClose.
func closeFrom(limit float64) float64 { return max(0, limit-rounding) }

// Preferred reports whether F of a chick is as low as is preferred. No
// inbreeding at all is, whatever the setting.
func (p *Programme) Preferred(f float64) bool { return !TooClose(f, p.Settings().PreferInbreeding) }
