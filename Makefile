# Tools are run at pinned versions, so that nothing has to be installed and a
# check gives the same answer everywhere.
GOFUMPT     := mvdan.cc/gofumpt@v0.10.0
STATICCHECK := honnef.co/go/tools/cmd/staticcheck@v0.8.1

ADDR ?= 127.0.0.1:8080
DATA ?= data
FUZZTIME ?= 20s
SCENES ?= 300
KILLS ?= 200
BURST ?= 50
PHOTOS ?= $(CURDIR)/testdata/photos

.DEFAULT_GOAL := help
.PHONY: help run build test check accuracy ablation soak bench fuzz golden pictures vendor-web packages-run packages-test packages-check web-tools

help: ## list what can be made
	@awk -F ':.*## ' '/^[a-z-]+:.*## / { printf "  make %-10s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

run: build ## install what is missing, build, and serve with the demo garment (ADDR=, DATA=)
	bin/secondcut serve --addr $(ADDR) --data $(DATA) --demo testdata/demo

build: packages-run ## build bin/secondcut
	go build -o bin/secondcut ./cmd/secondcut

test: packages-test web-tools ## install what is missing and run every test: Go, browser, JavaScript, matrix leaks
	go test -timeout 25m ./...
	go test -tags matprofile -run Leak ./vision
	cd web && node --test test/*.test.mjs

check: packages-check web-tools ## formatting, vet, staticcheck, types of the page's modules, tidy go.mod
	@out=$$(go run $(GOFUMPT) -l .) && { [ -z "$$out" ] || { echo "not formatted (go run $(GOFUMPT) -w .):"; echo "$$out"; exit 1; }; }
	go vet ./...
	go run $(STATICCHECK) ./...
	go mod tidy -diff
	cd web && npm run types

accuracy: packages-run ## trace photos with known truth, print the errors, fail over the limits (SCENES=)
	go run ./vision/internal/synth/cmd/photos -scenes $(SCENES) -o bin/scenes
	go test ./api/pipeline -run TestAccuracy -count=1 -v -timeout 120m -args -scenes $(CURDIR)/bin/scenes -first $(SCENES)

ablation: packages-run ## print what each part of the tracing buys, and what a plain script does (PHOTOS=)
	go test -tags ablation ./vision/calib -run TestAblation -count=1 -v -args -photos $(PHOTOS)
	go test -tags ablation ./api/pipeline -run TestAblation -count=1 -v -timeout 60m -args -photos $(PHOTOS) -script $(CURDIR)/scripts/plain_script.py

soak: packages-run ## kill the service 200 times under load, then send it a heap of photos (KILLS=, BURST=)
	go test ./cmd/secondcut -run 'TestKilledAtAnyMoment|TestBurst' -count=1 -v -timeout 60m -args -kills $(KILLS) -burst $(BURST)

bench: packages-run ## measure time of trace and steps as multiples of decoding, and peak memory
	go test -run '^$$' -bench . -benchmem ./...

fuzz: packages-run ## run every fuzz test for a while (FUZZTIME=)
	scripts/fuzz.sh $(FUZZTIME)

golden: packages-run ## write the golden files anew from what the code gives now
	go test $$(grep -rl --include='*_test.go' '"update"' . | xargs -n1 dirname | sort -u) -update

pictures: packages-test ## make the README's pictures of the page from the demo garment
	go test ./cmd/secondcut -run TestPictures -count=1 -args -pictures $(CURDIR)/pictures

vendor-web: packages-check web-tools ## renew web/vendor from the versions in web/package.json
	cd web && ./vendor.sh

packages-run:
	@scripts/install-packages.sh run

packages-test:
	@scripts/install-packages.sh test

packages-check:
	@scripts/install-packages.sh check

web-tools: packages-check web/node_modules/.package-lock.json

web/node_modules/.package-lock.json: web/package-lock.json
	cd web && npm ci --no-audit --no-fund --loglevel=error
