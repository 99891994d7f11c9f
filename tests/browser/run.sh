#!/bin/sh
# run.sh FILE: one test of the browser.  Skipped (77) where there is no browser, no Node, or no page.
root=$RT_TEST_ROOT
RT_BROWSER=$(command -v chromium || command -v chromium-browser) || { echo "skipped: install the package chromium"; exit 77; }
command -v node >/dev/null || { echo "skipped: install the packages nodejs and npm"; exit 77; }
[ -d "$root/ui/node_modules/playwright-core" ] && [ -e "$root/build/page/index.html" ] || {
    echo "skipped: the page was not built; ./run test builds it"
    exit 77
}
export RT_BROWSER RT_PAGE="$root/build/page"
exec node "$1"
