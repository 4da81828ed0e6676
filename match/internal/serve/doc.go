// Package serve is the local page: a web server for this machine only, for people who do not use
// the command line. It receives recordings, measures them, answers each change of a field from the
// measurements, and writes the same files as the command line.
//
// Most callers use [New], open [Server.URL] in a browser, and call [Server.Run] until its context
// is done.
//
// It is safe beside other people's pages: it listens on 127.0.0.1 only, the address holds a token
// that works once, and requests from other hosts or origins are refused (guard.go). Dropped files
// stay in a private folder that is removed when the server stops (folder.go). A bounded number of
// recordings is measured at once (uploads.go).
//
// The first view, match, has its own requests (request.go). Each other command is a view
// (views.go): a task in the background (task.go) with one kind of outcome.
//
// It serves match/page, runs match/job, and writes the forms of match/artefact. The command line
// starts it.
package serve
