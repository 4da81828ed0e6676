// Package serve is the local page: a web server on this machine alone, for people who
// do not live in a terminal. It takes recordings in, measures them, answers each
// change of a field from their tables, and hands out what the command line writes.
//
// The path most callers need: New, Server.URL to be opened in a browser, Server.Run
// until its context is done.
//
// It is safe to run beside other people's pages: it listens on 127.0.0.1 only, the
// address holds a token that works once, and requests from other hosts or origins are
// refused (guard.go). What is dropped stays in a private folder that is gone when the
// server stops (folder.go). A bounded number of recordings is measured at once
// (uploads.go).
//
// The first view, match, has requests of its own (request.go). Each other job of the command
// line is a view (views.go): work in the background (task.go) with one kind of outcome.
//
// It serves match/page, carries out match/job, and hands out the forms of match/artefact; the
// command line starts it.
package serve
