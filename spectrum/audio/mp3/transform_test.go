package mp3

import (
	"math"
	"math/rand/v2"
	"testing"
)

// float32Error allows for rounding in sums of several dozen numbers around 1. Our choice: twice what was measured.
const float32Error = 1e-5

func random(rng *rand.Rand) float32 { return float32(2*rng.Float64() - 1) }

// The transforms give the same results as the standard's formulas, summed directly.
func TestTransforms(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, blockType := range []int{normalBlocks, startBlock, shortBlocks, stopBlock} {
		for sb := range 2 {
			var in, overlap [slots]float32
			for i := range in {
				in[i], overlap[i] = random(rng), random(rng)
			}
			var want [2 * slots]float64
			for i := range overlap {
				want[i] = float64(overlap[i])
				if sb == 1 && i%2 == 1 {
					want[i] = -want[i] // kept with the sign that it goes out with
				}
			}
			for i := range want {
				if blockType == shortBlocks {
					continue
				}
				for k, x := range in {
					want[i] += longWindow(blockType, i) * float64(x) * math.Cos(math.Pi/72*float64((2*i+1+18)*(2*k+1)))
				}
			}
			for w := range 3 {
				for i := range 12 {
					for k := range 6 {
						if blockType == shortBlocks {
							want[6+6*w+i] += math.Sin(math.Pi/12*(float64(i)+0.5)) * float64(in[3*k+w]) * math.Cos(math.Pi/24*float64((2*i+1+6)*(2*k+1)))
						}
					}
				}
			}
			var out subbandTimes
			if blockType == shortBlocks {
				imdct12(&in, &overlap, &shortWindows[sb], &out, sb)
			} else {
				imdct36(&in, &overlap, &longWindows[sb][blockType], &out, sb)
			}
			for i := range slots {
				sign := 1.0
				if sb == 1 && i%2 == 1 {
					sign = -1
				}
				if d := math.Abs(float64(out[i][sb]) - sign*want[i]); d > float32Error {
					t.Errorf("block type %d, subband %d, sample %d: off by %g", blockType, sb, i, d)
				}
				if d := math.Abs(float64(overlap[i]) - sign*want[slots+i]); d > float32Error {
					t.Errorf("block type %d, subband %d, overlap %d: off by %g", blockType, sb, i, d)
				}
			}
		}
	}
}

// The synthesis gives the same results as figure A.2: 64 values per slot are shifted into 1024, and alternate halves of
// the groups of 64 are windowed.
func TestSynthesis(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	window := func(i int) float64 {
		switch {
		case i <= 256:
			return float64(synthesisWindow[i]) / 65536
		case i%64 == 0:
			return float64(synthesisWindow[512-i]) / 65536
		}
		return -float64(synthesisWindow[512-i]) / 65536
	}
	var line [1024]float64
	var s synthesis
	for granule := range 3 {
		var in subbandTimes
		var out [lines]float32
		for i := range in {
			for sb := range in[i] {
				in[i][sb] = random(rng)
			}
		}
		s.granule(&in, &out)
		for slot := range in {
			copy(line[64:], line[:960])
			for i := range 64 {
				line[i] = 0
				for k, x := range in[slot] {
					line[i] += math.Cos(float64((16+i)*(2*k+1))*math.Pi/64) * float64(x)
				}
			}
			for j := range subbands {
				want := 0.0
				for i := range 8 {
					want += window(j+64*i)*line[128*i+j] + window(j+64*i+32)*line[128*i+96+j]
				}
				if d := math.Abs(float64(out[subbands*slot+j]) - want); d > float32Error {
					t.Fatalf("granule %d, slot %d, sample %d: off by %g", granule, slot, j, d)
				}
			}
		}
	}
}

// Each code has every pair of values once and leaves no code word unused.
func TestCodes(t *testing.T) {
	for table, leaves := range codes {
		seen, sum := map[uint16]bool{}, 0.0
		for _, leaf := range leaves {
			seen[leaf&0xFF] = true
			sum += math.Exp2(-float64(leaf >> 8))
		}
		side := math.Sqrt(float64(len(leaves)))
		if len(seen) != len(leaves) || sum != 1 || side != math.Trunc(side) {
			t.Errorf("code %d: %d of %d pairs, the code words fill %g of 1", table, len(seen), len(leaves), sum)
		}
	}
}
