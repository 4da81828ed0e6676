// Package training trains the ear: it hides moves of an equaliser in an excerpt of a mix and marks
// what was heard.
//
// [DrawTasks] draws the hidden moves. [NewExcerpt] and [Excerpt.Renders] make them audible at one
// loudness. [Answers.Seal] and [Open] keep the answers. [ReadSheet] and [MarkAnswer] mark what was
// heard.
//
// The package reads no flags and prints nothing; sound comes in as an [audio.Source].
package training
