package forms_test

import (
	"os"

	"toneplumb/biquad"
	"toneplumb/match/probe"
	"toneplumb/match/probe/forms"
)

// An equaliser of which two prints were measured: the flat one, and a bell whose dials mean what they say.
func Example() {
	bell := biquad.Filter{Shape: biquad.Bell, FreqHz: 1000, GainDB: 6, Q: 1}
	e := &probe.Equaliser{RateHz: 48000, Oversampling: 1, Measured: []*probe.Measured{
		{Setting: probe.Setting{Number: 1, Flat: true}, Response: &probe.Response{NoiseDB: -90}},
		{Setting: probe.Setting{Number: 2, Shape: biquad.Bell, FreqHz: 1000, GainDB: 6, Width: 1}, Filter: bell, Response: &probe.Response{Inverted: true, NoiseDB: -90}},
	}}
	if err := forms.Text(os.Stdout, e, ""); err != nil {
		panic(err)
	}
	// Output:
	// print  dialled                               is                         off by
	//     1  everything at 0 dB                                               0.00 dB
	//     2  bell 1 kHz +6.0 dB width 1            1 kHz +6.0 dB Q 1.00       0.00 dB
	//
	// top:        near half the rate the responses are squeezed as the cookbook's are
	//             at 48 kHz; moves need no correction.
	//
	// watch out:
	// - print 2 is inverted
}
