#!/bin/sh
# Copies the page's few outside modules from node_modules (filled by `npm ci`)
# into vendor/. The comments that name source maps are dropped: the maps are not
# served.
set -eu
cd "$(dirname "$0")"
put() {
	sed '/^\/\/# sourceMappingURL=/d' "node_modules/$1" >"vendor/$2"
}
put preact/dist/preact.mjs preact.js
put preact/hooks/dist/hooks.mjs preact-hooks.js
put htm/dist/htm.mjs htm.js
put @preact/signals/dist/signals.mjs signals.js
put @preact/signals-core/dist/signals-core.mjs signals-core.js
cp node_modules/preact/LICENSE vendor/LICENSE-preact
cp node_modules/htm/LICENSE vendor/LICENSE-htm
cp node_modules/@preact/signals/LICENSE vendor/LICENSE-signals
