package uncertainty

import "math"

// moments accumulates the mean and variance of values over draws.
type moments struct {
	n       float64
	sum, sq []float64
}

func newMoments(values int) *moments {
	return &moments{sum: make([]float64, values), sq: make([]float64, values)}
}

func (s *moments) add(values []float64) {
	s.n++
	for i, v := range values {
		s.sum[i] += v
		s.sq[i] += v * v
	}
}

// sd returns the standard deviation of value i over the draws.
func (s *moments) sd(i int) float64 {
	mean := s.sum[i] / s.n
	return math.Sqrt(math.Max(0, s.sq[i]/s.n-mean*mean) * s.n / (s.n - 1))
}

// covariance returns the n×n covariance, row-major, of rows that hold n values each. It
// subtracts the mean from the rows in place.
func covariance(rows []float64, n int) []float64 {
	count := len(rows) / n
	mean := make([]float64, n)
	for i, v := range rows {
		mean[i%n] += v / float64(count)
	}
	cov := make([]float64, n*n)
	for k := range count {
		row := rows[k*n:][:n]
		for i := range row {
			row[i] -= mean[i]
		}
		for i, v := range row {
			to := cov[i*n:]
			for j, w := range row[:i+1] {
				to[j] += v * w
			}
		}
	}
	for i := range n {
		for j := range i + 1 {
			cov[i*n+j] /= float64(count - 1)
			cov[j*n+i] = cov[i*n+j]
		}
	}
	return cov
}
