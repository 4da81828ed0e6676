// Package training trains the ear: it hides moves in an excerpt of a mix, and marks what
// was heard.
//
// [DrawTasks] hides moves, [NewExcerpt] and [Excerpt.Renders] make them heard at one
// loudness, [Answers.Seal] and [Open] keep the answers, [ReadSheet] and [MarkAnswer] judge
// what was heard.
//
// Nothing here reads flags or prints; sound comes in as an [audio.Source].
package training
