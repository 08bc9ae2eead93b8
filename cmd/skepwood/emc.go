package main

import (
	"skepwood/analytics/wood"
)

// emcCmd answers how dry wood becomes in some air.
type emcCmd struct {
	Temperature string  `short:"t" required:"" help:"Temperature of the air, such as 70F or 21C."`
	Humidity    string  `short:"r" xor:"air" help:"Relative humidity in percent."`
	WetBulb     string  `xor:"air" help:"Temperature of a ventilated wet bulb, instead of the humidity."`
	DewPoint    string  `xor:"air" help:"Dew point, instead of the humidity."`
	Moisture    string  `short:"m" xor:"air" help:"Moisture content in percent that the air shall keep: asks for the humidity."`
	Pressure    float64 `help:"Air pressure at the place in hPa, for the wet bulb; sea level if not given."`
	desk
}

// Run prints the equilibrium moisture content and the air that goes with it.
func (c *emcCmd) Run(std *streams) error {
	f := &deskFlags{desk: c.desk}
	q := wood.AirQuestion{
		Humidity: f.percent("humidity", c.Humidity),
		WetBulb:  f.temperature("wet-bulb", c.WetBulb), DewPoint: f.temperature("dew-point", c.DewPoint),
		Moisture: f.percent("moisture", c.Moisture), PressureHPa: c.Pressure,
	}
	if t := f.temperature("temperature", c.Temperature); t != nil {
		q.Temperature = *t
	}
	if err := f.err(); err != nil {
		return refuse(std, "emc", err)
	}
	a, err := wood.AskAir(q)
	if err != nil {
		return refuse(std, "emc", err)
	}
	s := &deskSheet{sources: a.Sources}
	s.line("equilibrium moisture", "%.1f %%", a.MoisturePercent)
	s.line("temperature", "%s", bothTemperatures(q.Temperature))
	s.line("relative humidity", "%.1f %%", a.HumidityPercent)
	if a.From != "humidity" {
		s.line("computed from", "%s", a.From)
	}
	if a.Extrapolated {
		s.note("beyond the published table (30 to 210 °F, 5 to 95 %%): extrapolated by the equation")
	}
	return c.print(std.Out, a, s)
}
