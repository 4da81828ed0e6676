// Package lesson teaches: it learns what an equaliser really does, and trains the ear.
//
// An equaliser is learnt from a probe (Probe) that is printed through it at known
// settings (Prints): Reader.Read finds the probe in a print and its response, Learn what
// the dials stand for, Equaliser.WriteDescription writes the description that --eq reads.
// Through takes the response from a piece of music before and after.
//
// Ear training: DrawTasks hides moves, NewExcerpt and Excerpt.Renders make them heard
// at one loudness, Seal and Open keep the answers, ReadSheet and Mark judge what was
// heard.
//
// Nothing here reads flags or prints; sound comes in as blocks or audio.Source.
//
// It builds on match, biquad/fit and spectrum/audio;
// match/page and the command line use it.
package lesson
