package probe

import (
	"bytes"
	"math"
	"math/rand/v2"
	"os/exec"
	"testing"

	"toneplumb/biquad"
)

// BandsHz is for tests outside the package.
var BandsHz = Probe.bandsHz

// filtered runs a probe through digital filters at a rate.
func filtered(x []float64, rateHz float64, filters ...biquad.Filter) []float64 {
	y := append([]float64(nil), x...)
	biquad.NewCascade(filters, rateHz, 1).Run([][]float64{y})
	return y
}

// noisy adds white noise of so many dBFS rms.
func noisy(x []float64, levelDBFS float64, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 5))
	y := append([]float64(nil), x...)
	for i := range y {
		y[i] += math.Pow(10, levelDBFS/20) * rng.NormFloat64()
	}
	return y
}

func run(t *testing.T, name string, args ...string) {
	t.Helper()
	var stderr bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Stderr = &stderr
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s %q: %v\n%s", name, args, err, stderr.String())
	}
}
