// Package browsertest drives the pages as a person with a phone does: a real
// Chromium with a touch screen of 390 by 844 pixels.
//
// One browser serves a whole test binary; each test gets a tab with cookies
// and caches of its own. [New] opens it and closes it when the test ends;
// TestMain calls [Stop] after the tests. Every method of [Tab] fails the test
// itself and waits for a condition, never for a time.
//
// Where no Chromium is installed a test is skipped with a message, except
// where CI=true, where it fails.
//
// Only tests may import this package.
package browsertest
