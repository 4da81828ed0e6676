// Package forms writes a [tracks.Advice] as a chart, a page, a table, a document or text.
// Package match/artefact lists these forms.
package forms
