package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// TestThisDeviceByTouch asks the doctor on the page, in both languages, before and
// after something went wrong.
func TestThisDeviceByTouch(t *testing.T) {
	s := newShop(t)
	b := s.opens()
	ann := open(t, newBrowser(t), "Ann", b.page)
	ann.goes("site?part=device")
	ann.tap("Look now")
	ann.sees("Nothing is wrong.")
	ann.sees("Ann is the only lead")
	ann.sees("pairwalk invite --role lead")
	before := len(s.log("ann", "site"))

	keys, err := filepath.Glob(filepath.Join(s.dir, "ann", "sites", "*", "keys.json"))
	require.NoError(t, err)
	require.Len(t, keys, 1)
	require.NoError(t, os.Chmod(keys[0], 0o644))
	ann.tap("Look now")
	ann.sees("Something is wrong.")
	ann.sees("may read the secret keys")
	ann.sees("chmod 600")
	ann.picture("device")

	ann.do(chromedp.Evaluate[chromedp.Void](`localStorage.setItem('pairwalk.language', 'de')`), chromedp.Reload())
	ann.tap("Jetzt nachsehen")
	ann.sees("Etwas stimmt nicht.")
	require.Len(t, s.log("ann", "site"), before, "looking records nothing")
}
