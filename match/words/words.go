// Package words writes in English what package match finds: findings, reasons, names of
// shapes and recordings, lists, and numbers with their units. No other package has
// sentences about a finding, and nothing reads one back: sort, filter and replace by the
// types of package match instead.
//
// It builds on match; what shows a result uses it.
package words
