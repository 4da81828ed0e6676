package flac

import (
	"math/bits"

	"github.com/mewkiz/flac/frame"
)

// choice is one way to write a channel of a block, and the bits that it takes.
type choice struct {
	subframe *frame.Subframe
	bits     int
}

// chooseStereo returns the form of stereo (left and right, or one of them or their middle with the side) that takes the
// fewest bits, and its two subframes.
func chooseStereo(left, right []int32) (frame.Channels, []*frame.Subframe) {
	middle, side := make([]int32, len(left)), make([]int32, len(left))
	for i, l := range left {
		middle[i], side[i] = (l+right[i])>>1, l-right[i]
	}
	l, r := choose(left, writtenBits), choose(right, writtenBits)
	m, s := choose(middle, writtenBits), choose(side, writtenBits+1)
	best, form, pair := l.bits+r.bits, frame.ChannelsLR, [2]choice{l, r}
	for _, other := range []struct {
		form frame.Channels
		pair [2]choice
	}{{frame.ChannelsLeftSide, [2]choice{l, s}}, {frame.ChannelsSideRight, [2]choice{s, r}}, {frame.ChannelsMidSide, [2]choice{m, s}}} {
		if n := other.pair[0].bits + other.pair[1].bits; n < best {
			best, form, pair = n, other.form, other.pair
		}
	}
	return form, []*frame.Subframe{pair[0].subframe, pair[1].subframe}
}

const (
	maxFixedOrder = 4  // RFC 9639, section 9.2.5
	maxPartOrder  = 5  // our choice: partitions of 128 frames; smaller ones cost as much as they save
	maxRice       = 14 // 15 is the escape code (RFC 9639, section 9.2.7)
	riceHeadBits  = 4
)

// choose returns the shortest way to write a channel with samples of wordBits: as a constant, with a fixed predictor (the
// one with the smallest sum of residuals), or verbatim.
func choose(x []int32, wordBits int) choice {
	constant := true
	for _, v := range x {
		constant = constant && v == x[0]
	}
	if constant {
		return choice{&frame.Subframe{SubHeader: frame.SubHeader{Pred: frame.PredConstant}}, wordBits}
	}
	order, residual := bestFixed(x)
	rice, riceBits := bestPartitions(residual, order)
	if n := order*wordBits + riceBits; n < len(x)*wordBits {
		return choice{&frame.Subframe{SubHeader: frame.SubHeader{
			Pred: frame.PredFixed, Order: order,
			ResidualCodingMethod: frame.ResidualCodingMethodRice1, RiceSubframe: rice,
		}}, n}
	}
	return choice{&frame.Subframe{SubHeader: frame.SubHeader{Pred: frame.PredVerbatim}}, len(x) * wordBits}
}

// bestFixed returns the order of the best fixed predictor and its residual, folded to 0, 1, 2… for 0, −1, 1…; the first
// order places are unused. The predictor of order n leaves the n-th difference as its residual.
func bestFixed(x []int32) (order int, folded []uint32) {
	differences := make([][]int32, min(maxFixedOrder, len(x)-1)+1)
	differences[0] = x
	least := int64(-1)
	for n := range differences {
		if n > 0 {
			differences[n] = make([]int32, len(x))
			for i := n; i < len(x); i++ {
				differences[n][i] = differences[n-1][i] - differences[n-1][i-1]
			}
		}
		sum := int64(0)
		for _, v := range differences[n][min(maxFixedOrder, len(x)-1):] {
			sum += int64(max(v, -v))
		}
		if least < 0 || sum < least {
			least, order = sum, n
		}
	}
	folded = make([]uint32, len(x))
	for i := order; i < len(x); i++ {
		v := differences[order][i]
		folded[i] = uint32(v<<1) ^ uint32(v>>31)
	}
	return order, folded
}

// bestPartitions returns the best division of the residual into partitions of equal length, with the Rice parameter of
// each, and the total number of bits. Partitions must divide the block and be longer than the order (RFC 9639, section
// 9.2.7).
func bestPartitions(folded []uint32, order int) (*frame.RiceSubframe, int) {
	var best *frame.RiceSubframe
	least := 0
	for p := 0; p <= maxPartOrder; p++ {
		size := len(folded) >> p
		if size<<p != len(folded) || size <= order {
			break
		}
		rice, total := &frame.RiceSubframe{PartOrder: p}, 0
		for i := range 1 << p {
			part := folded[i*size : (i+1)*size]
			if i == 0 {
				part = part[order:]
			}
			k, n := bestRice(part)
			rice.Partitions = append(rice.Partitions, frame.RicePartition{Param: uint(k)})
			total += riceHeadBits + n
		}
		if best == nil || total < least {
			best, least = rice, total
		}
	}
	return best, least
}

// bestRice returns the best Rice parameter k for part and the number of bits it takes. A value v takes k bits, v>>k
// zeros and a one, so the best k is near the binary logarithm of the mean; three values around it are tried.
func bestRice(part []uint32) (k, total int) {
	sum := uint64(0)
	for _, v := range part {
		sum += uint64(v)
	}
	near := bits.Len64(sum / uint64(len(part)))
	for try := max(0, near-2); try <= min(maxRice, near); try++ {
		n := len(part) * (try + 1)
		for _, v := range part {
			n += int(v >> try)
		}
		if total == 0 || n < total {
			k, total = try, n
		}
	}
	if total == 0 { // larger values than the residuals of 16-bit samples
		return maxRice, len(part)*(maxRice+1) + int(sum>>maxRice)
	}
	return k, total
}
