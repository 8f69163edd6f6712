package unit

// Quantities of the power supply.
type (
	Volt       float64
	VoltAmpere float64 // apparent power
	WattHour   float64
	AmpereHour float64
	Minute     float64
)

// Second converts minutes.
func (m Minute) Second() Second { return Second(m * secondPerMinute) }

// String writes "571 VA".
func (v VoltAmpere) String() string { return Fixed(float64(v), 0) + Thin + "VA" }

// String writes "235 Wh".
func (v WattHour) String() string { return Fixed(float64(v), 0) + Thin + "Wh" }

// String writes "19.6 Ah".
func (v AmpereHour) String() string { return Fixed(float64(v), 1) + Thin + "Ah" }

// String writes "30 min".
func (m Minute) String() string { return Fixed(float64(m), 0) + Thin + "min" }

// String writes "12 V".
func (v Volt) String() string { return Fixed(float64(v), 0) + Thin + "V" }
