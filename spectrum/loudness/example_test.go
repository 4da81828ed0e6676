package loudness_test

import (
	"fmt"
	"math"

	"toneplumb/spectrum/loudness"
)

func Example() {
	const rateHz = 48000
	meter, peaks := loudness.NewMeter(rateHz, 2), loudness.NewPeakMeter(rateHz, 2)
	second := make([]float64, rateHz)
	for i := range 10 {
		amplitude := math.Pow(10, -23./20)
		if i < 5 {
			amplitude /= 2
		}
		for n := range second {
			second[n] = amplitude * math.Sin(2*math.Pi*1000*float64(n)/rateHz)
		}
		meter.Add([][]float64{second, second})
		peaks.Add([][]float64{second, second})
	}
	steps := meter.Steps()
	fmt.Printf("loudness %.1f LUFS, range %.1f LU\n", loudness.Integrated(steps), loudness.Range(steps))
	fmt.Printf("loudest 3 s %.1f LUFS, true peak %.1f dBTP\n", loudness.ShortTermMax(steps), peaks.TruePeakDBTP())
	// Output:
	// loudness -25.0 LUFS, range 6.0 LU
	// loudest 3 s -23.0 LUFS, true peak -23.0 dBTP
}
