package uncertainty

import (
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// column writes value i of each row to dst (nil: a new slice) and returns it.
func column(dst []float64, rows [][]float64, i int) []float64 {
	if dst == nil {
		dst = make([]float64, len(rows))
	}
	for k, row := range rows {
		dst[k] = row[i]
	}
	return dst
}

// covariance returns the covariance over rows of their values at some columns.
func covariance(rows [][]float64, columns []int) *mat.SymDense {
	x := mat.NewDense(len(rows), len(columns), nil)
	var values []float64
	for i, c := range columns {
		values = column(values, rows, c)
		x.SetCol(i, values)
	}
	cov := mat.NewSymDense(len(columns), nil)
	stat.CovarianceMatrix(cov, x, nil)
	return cov
}
