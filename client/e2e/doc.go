// Package e2e holds tests that need a browser, or both programs at once. It has no code of its own.
//
// The browser tests drive Chromium over the pages, with axe-core for the rules of accessibility: npm ci --prefix client/e2e
// fetches it. Where either is missing they are skipped with one line, and fail when CI=true.
package e2e
