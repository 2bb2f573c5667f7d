# make run | test | readers | pictures | lint | bench | app | build | studio | dist | generate | soak | mutants
#
# All of them need Go, Node.js and make, and nothing else that they do not bring.

, := ,

SHELL := bash
.SHELLFLAGS := -eu -o pipefail -c
.DEFAULT_GOAL := build

# What is built names no folder of this machine; and what a test or a command built, another need not build again.
export GOFLAGS := $(filter-out -trimpath,$(GOFLAGS)) -trimpath

# make run DEMO=1 fills an invented production first; LISTEN=127.0.0.1:8480 keeps it to this machine.
DATA ?= ./evenwhite-data
LISTEN ?=
DEMO ?=

# make soak SOAK=3m runs schedules of faults for so long.
SOAK ?= 10m

# The race detector needs a C compiler.
RACE := $(if $(shell command -v "$$(go env CC)" 2>/dev/null),-race,)

# Each program that looks for races waits a second at its end, and scripts end hundreds of them. What GORACE says already counts more.
export GORACE := $(strip atexit_sleep_ms=20 $(GORACE))

WASM_EXEC = $(shell go env GOROOT)/lib/wasm/go_js_wasm_exec

ALIKE := TestSchedulesAlikeInEveryBuild

# Debian packages that hold what some tests check against: measured light spectra, a
# second program that computes colour, a reader of ASC CDL files and one of workbooks, what the README types, a reader of QR
# codes, a second verifier of certificates, three browsers with a tool for their stores of certificates and a screen,
# what makes networks and finds names in them, and the store of a studio.
TEST_PACKAGES := psychtoolbox-3-common argyll python3-pyopencolorio python3-openpyxl python3-jsonschema poppler-utils curl jq strace zbar-tools \
  openssl chromium firefox-esr libnss3-tools iproute2 iptables avahi-daemon libnss-mdns \
  webkit2gtk-driver xvfb etcd-server

# A second library that computes colour, from npm, as its lockfile there pins it.
COLORJS := testdata/colorjs

# What holds the contract against its standard, and makes clients of it: from npm as well.
CLIENTS := testdata/clients

# What drives the browser, from npm as well.
BROWSER := testdata/browser

# The phone app.
APP := server/phone/app

# make dist TARGETS=linux/amd64 DIST=/tmp builds one of them.
TARGETS ?= linux/amd64 linux/arm64 darwin/amd64 darwin/arm64 windows/amd64 windows/arm64
DIST ?= dist

# The tests that make lint runs and make test need not run again.
GENERATING := ^TestGeneratingChangesNothing$$

# What asks logtest.AtLength, but for the requests of the contract: with the race detector it
# draws a part.
AT_LENGTH := ^(TestSchedulesOfFaults|TestDaysKeepTheLaws|TestQuietDays|TestDamageOfAnyPageInUseIsNoticed|TestNoDamageEndsTheProcess|TestRowsThatRotUnderLoadComeAgain|TestARestoredServerIsRefilledOfAnyNumberOfLines)$$

# Thousands of small files wait for the disk, which no test looks at: that what is promised
# waits for it, a trace of system calls shows. So they lie in memory, where that has room and
# programs may be started from it. What is built stays on the disk.
IN_MEMORY := memory="/dev/shm/evenwhite-$$UID"; mkdir -m 700 -p "$$memory" 2>/dev/null || true; \
  if [[ -O "$$memory" ]] && (( $$(df --output=avail "$$memory" | tail -n 1) > 4000000 )) && \
  starts="$$(mktemp -p "$$memory")" && printf '\#!/bin/sh\n' >"$$starts" && chmod +x "$$starts" && "$$starts" 2>/dev/null; then \
  export GOTMPDIR="$${GOTMPDIR:-$${TMPDIR:-/tmp}}" TMPDIR="$$memory"; fi; rm -f "$${starts:-}"

say = @echo "==> $(1)"

# A program that finds something prints it, and succeeds all the same.
none = @found="$$($(2))"; [[ -z "$$found" ]] || { echo "$(1):"; echo "$$found"; exit 1; }

# A room prints what its servers say, and others print after it: what failed is named again at the end.
named = said="$$(mktemp)"; trap 'rm -f "$$said"' EXIT; $(1) | tee "$$said" || \
  { echo "==> failed:"; grep -E -A 8 '^ *--- FAIL|^panic:|^FAIL' "$$said" | grep -v ' level=INFO ' | cut -c 1-400 | head -n 120; exit 1; }

.PHONY: app build studio dist run test readers pictures lint setup-test bench generate soak mutants \
  test-race test-wasm test-length test-studio test-requests test-linters

# The phone app: the engine as WebAssembly, and what Vite makes of APP, into server/phone/dist, which
# the program embeds. Node.js is needed here alone; nothing is built that is newer than its sources.
app:
	@dist=server/phone/dist/index.html; \
	if [[ -e $$dist && -z "$$(find $(APP) go.mod colorimetry logbook server/phone/engine -newer $$dist -type f \
	  -not -path '*/node_modules/*' -not -path '$(APP)/built/*' -not -name '*_test.go' -print -quit)" ]]; then \
	  echo "==> the phone app is built"; exit; \
	fi; \
	command -v npm >/dev/null || { echo "the phone app is built with Node.js, and npm is not here: install Node.js 20 or later"; exit 1; }; \
	if ! npm ls --prefix $(APP) >/dev/null 2>&1; then \
	  echo "==> fetching what the phone app is built with: npm packages$(,) as the lockfile says$(,) into $(APP)"; \
	  npm ci --prefix $(APP) --no-audit --no-fund; \
	fi; \
	echo "==> building the engine of the phone, as WebAssembly"; \
	go run ./server/phone/engine/build $(APP)/built; \
	echo "==> building the phone app; packing a changed engine takes half a minute and more"; \
	npm run --prefix $(APP) --silent build; touch $$dist

build:
	$(call say,building ./evenwhite)
	@go build -o evenwhite ./server

# The program of a studio has the client of etcd beside what that of a set has.
studio: build
	$(call say,building ./evenwhite-studio)
	@go build -tags studio -o evenwhite-studio ./server; \
	size() { echo $$(( ($$(wc -c <"$$1") + 524288) / 1048576 )); }; \
	echo "==> ./evenwhite-studio has $$(size evenwhite-studio) MB, ./evenwhite $$(size evenwhite) MB"

# One file for each system, with the app inside: no C, and nothing else is needed to start it.
dist: app
	@for target in $(TARGETS); do \
	  file="$(DIST)/evenwhite-$${target/\//-}"; [[ $$target == windows/* ]] && file+=.exe; \
	  echo "==> building $$file"; \
	  CGO_ENABLED=0 GOOS="$${target%/*}" GOARCH="$${target#*/}" go build -ldflags='-s -w' -o "$$file" ./server; \
	done

run: app build
	$(call say,starting the server: its data goes to $(DATA); Ctrl-C stops it)
	@exec ./evenwhite serve --data '$(DATA)' $(if $(LISTEN),--listen '$(LISTEN)') $(if $(DEMO),--demo)

# Its parts wait now and then, for browsers and for what is killed, so two of them run at a time.
test: setup-test app
	@$(MAKE) --no-print-directory -j2 lint test-race test-wasm test-length test-studio test-requests test-linters
	$(call say,all tests passed)

test-race:
	$(call say,running all tests$(if $(RACE), with the race detector))
	@$(if $(RACE),,echo "==> SKIPPED, NOT CHECKED: no C compiler is here$(,) so the race detector cannot run")
	@$(IN_MEMORY); $(call named,go test -vet=off -timeout 30m -parallel 4 $(RACE) -skip '$(GENERATING)' ./server ./...)

test-length:
	$(call say,running what draws much at length$(,) in a plain build)
	@$(IN_MEMORY); go test -vet=off -run '$(AT_LENGTH)' ./api ./logbook/bolt ./logbook/days ./logbook/exchange

test-studio:
	$(call say,trying the program of a studio: three processes at an etcd of three members)
	@$(IN_MEMORY); go test -vet=off -tags studio -run '^TestAStudio' ./server

test-requests:
	$(call say,drawing 20$(,)000 requests from the contract that is served$(,) for all its operations)
	@$(IN_MEMORY); go test -vet=off -count=1 -run '^TestNoRequestOfTheContractGetsAnUndeclaredAnswer$$' ./api -contract.requests 20000

test-linters:
	$(call say,holding the contract that is served against two linters)
	@go test -vet=off -count=1 -run '^TestTheServedContractPassesTwoLinters$$' ./openapi -contract.lint

# What takes longer to install than to check: LibreOffice Calc opens workbook and table in two countries.
readers:
	@if ! command -v soffice >/dev/null; then \
	  echo "==> installing from Debian, with apt-get: libreoffice-calc, 93 MB"; \
	  apt-get update -q && DEBIAN_FRONTEND=noninteractive apt-get install -qy --no-install-recommends libreoffice-calc; \
	fi
	$(call say,opening what post gets in LibreOffice Calc$(,) in Germany and in the United States)
	@go test -vet=off -count=1 -run '^TestCalcKeepsNamesAndNumbers$$' ./server/demo -readers

# The pictures of the README: of each form that post gets. They need chromium, pdftoppm and soffice.
pictures:
	$(call say,drawing what post gets of the invented production into testdata/pictures)
	@mkdir -p testdata/pictures; go test -vet=off -count=1 -run '^TestPicturesOfTheForms$$' ./server/demo -pictures '$(CURDIR)/testdata/pictures'

# Mistakes that compile. The tags add what is built for make mutants and for a studio alone.
lint:
	$(call say,looking for mistakes that compile: gofmt$(,) go vet$(,) staticcheck$(,) deadcode)
	$(call none,not formatted: run gofmt -w,gofmt -l .)
	@go vet -tags mutants,studio ./...
	@go tool staticcheck -tags mutants,studio -checks all ./...
	$(call none,called by no command and no test,go tool deadcode -tags mutants$(,)studio -test ./...)
	@if [[ -d $(APP)/node_modules ]]; then \
	  echo "==> looking whether the types of the phone app fit"; \
	  $(APP)/node_modules/.bin/tsc --noEmit -p $(APP) && $(APP)/node_modules/.bin/tsc --noEmit -p $(APP)/tsconfig.worker.json; \
	else \
	  echo "==> SKIPPED, NOT CHECKED: the types of the phone app, because its npm packages are not here: make app fetches them"; \
	fi
	$(call say,looking whether generating changes nothing)
	@go test -vet=off -count=1 -run '$(GENERATING)' ./colorimetry ./openapi ./logbook/answers
	$(call say,looking whether each rule that make mutants switches off still stands where it says)
	@go test -vet=off -count=1 -tags mutants -run '^TestEachMutantFitsItsSource$$' ./logbook ./logbook/days

# The engine on a phone is the same code built for WebAssembly: the same schedules of
# faults must lead both builds to the same.
test-wasm:
	@if command -v node >/dev/null; then \
	  echo "==> running the tests of the rooms that a phone runs, as WebAssembly in Node.js"; \
	  rooms="$$(mktemp)" digests="$$(mktemp)"; trap 'rm -f "$$rooms" "$$digests"' EXIT; \
	  go test -vet=off -count=1 -run '^TestRoomsOnPhonesArePure$$' ./server -rooms.phone "$$rooms" >/dev/null; \
	  GOOS=js GOARCH=wasm go test -vet=off -skip '$(GENERATING)' -exec='$(WASM_EXEC)' $$(<"$$rooms"); \
	  echo "==> running the same schedules of faults natively and as WebAssembly"; \
	  GOOS=js GOARCH=wasm go test -vet=off -count=1 -exec='$(WASM_EXEC)' -run '^$(ALIKE)$$' ./logbook/exchange -sim.write "$$digests"; \
	  go test -vet=off -count=1 -v -run '^$(ALIKE)$$' ./logbook/exchange -sim.compare "$$digests"; \
	else \
	  echo "==> SKIPPED, NOT CHECKED: Node.js is not here, so nothing was run as WebAssembly"; \
	fi

# Says what is not here and will be installed, and only then installs it. What cannot be
# had is a failure where CI is set.
setup-test:
	@debian=(); npm=(); \
	for p in $(TEST_PACKAGES); do \
	  dpkg-query -W -f='$${Status}' $$p 2>/dev/null | grep -q 'ok installed' || debian+=($$p); \
	done; \
	for p in $(COLORJS) $(CLIENTS) $(BROWSER) $(APP); do \
	  npm ls --prefix $$p >/dev/null 2>&1 || npm+=($$p); \
	done; \
	root() { [[ $$(id -u) == 0 ]] && command -v apt-get >/dev/null; }; \
	without() { echo "==> $$1, SO NOT CHECKED: the tests that need $$2 will be skipped"; [[ -z "$${CI:-}" ]]; }; \
	if (( $${#debian[@]} + $${#npm[@]} == 0 )); then \
	  echo "==> what the tests check against is here: $(TEST_PACKAGES); npm packages in $(COLORJS)$(,) $(CLIENTS)$(,) $(BROWSER) and $(APP)"; exit; \
	fi; \
	echo "==> the tests check against other programs, and some are not here; make installs now:"; \
	if (( $${#debian[@]} > 0 )) && root; then \
	  echo "    as root, from Debian, with apt-get: $${debian[*]}"; \
	elif (( $${#debian[@]} > 0 )); then \
	  echo "    nothing from Debian, because that takes root there: apt-get install $${debian[*]}"; \
	fi; \
	(( $${#npm[@]} == 0 )) || echo "    from npm, what the lockfile says, into these folders alone: $${npm[*]}"; \
	if (( $${#debian[@]} > 0 )) && root; then \
	  { apt-get update -q && DEBIAN_FRONTEND=noninteractive apt-get install -qy --no-install-recommends "$${debian[@]}"; } \
	  || without "NOT INSTALLED" "$${debian[*]}"; \
	elif (( $${#debian[@]} > 0 )); then \
	  without "NOT INSTALLED" "$${debian[*]}"; \
	fi; \
	for p in "$${npm[@]}"; do \
	  npm ci --prefix $$p --ignore-scripts --no-audit --no-fund || without "NOT INSTALLED" "$$p"; \
	done

# The figures of the long job are seconds each: one pass a run is enough. Those of growth
# repeat within a pass what is short. A removal of a million edits takes minutes: it is done once.
bench:
	@$(MAKE) --no-print-directory app >&2
	$(call say,measuring; one JSON line a figure follows) >&2
	@[[ -e ../shared/bench/setlog-1.edits.jsonl.gz ]] || \
	  echo "==> SKIPPED, NOT MEASURED: the workload setlog-1 is not in ../shared/bench$(,) so no setlog1 figure follows" >&2
	@{ go test -run '^$$' -bench 'CCT|Spectra|Plan|Setlog|Push|Rows|Stored|Net' -skip '^BenchmarkGrowth|Studio' -benchtime 1s -count $(or $(COUNT),5) ./... && \
	  go test -run '^$$' -bench . -skip '^BenchmarkGrowth' -benchtime 1x -count $(or $(COUNT),5) ./logbook/colorlog ./logbook/footage ./logbook/handover && \
	  go test -run '^$$' -bench '^BenchmarkPhone' -benchtime 1x -timeout 0 -count $(or $(COUNT),5) ./server/phone ./server/phone/engine && \
	  go test -run '^$$' -bench Studio -benchtime 1x -timeout 0 -count $(or $(COUNT),5) ./logbook/etcd && \
	  go test -tags studio -run '^$$' -bench Studio -benchtime 1x -timeout 0 -count $(or $(COUNT),5) ./server && \
	  go test -run '^$$' -bench '^BenchmarkPhoneApp' -benchtime 1x -timeout 0 -count $(or $(COUNT),3) ./server && \
	  go test -run '^$$' -bench '^BenchmarkNameFound' -benchtime 3x -count $(or $(COUNT),5) ./server/lan/name && \
	  go test -run '^$$' -bench '^BenchmarkGrowth' -skip '^BenchmarkGrowthRemoval' -benchtime 1x -timeout 0 -count $(or $(COUNT),5) ./... && \
	  go test -run '^$$' -bench '^BenchmarkGrowthRemoval' -benchtime 1x -timeout 0 ./api/removal && \
	  if command -v node >/dev/null; then \
	    GOOS=js GOARCH=wasm go test -exec='$(WASM_EXEC)' -run '^$$' -bench Setlog -benchtime 1s -count $(or $(COUNT),5) ./logbook/exchange; \
	  else \
	    echo "SKIPPED, NOT MEASURED: Node.js is not here, so nothing was measured as WebAssembly"; \
	  fi; } | go run ./testdata/benchlines

generate:
	$(call say,generating the server interface from openapi/openapi.yaml$(,) and what writes answers)
	@go generate ./...

soak:
	$(call say,schedules of faults for $(SOAK): phones and servers in memory$(,) compared after every step)
	@go test -count=1 -timeout 0 -v -run '^TestSchedulesOfFaults$$' ./logbook/exchange -sim.time '$(SOAK)'
	$(call say,a ring of three real servers for $(SOAK)$(,) over roads that are closed$(,) slow$(,) lossy and held up)
	@go test -count=1 -timeout 0 -v -run '^TestARingOfServers$$' ./server -ring.time '$(SOAK)'
	$(call say,30 kills of the leader of etcd and other faults of it$(,) under 20 devices at three processes)
	@go test -count=1 -timeout 0 -v -run '^TestNothingAcknowledgedIsLostInAStudio$$' ./logbook/etcd -studio.kills 30
	$(call say,20 cuts of the power after each call that a store makes)
	@$(IN_MEMORY); go test -count=1 -timeout 0 -v -run '^TestAPowerCutLosesNothingThatWasAnswered$$' ./logbook/bolt -power.cuts 20
	$(call say,200 kills of the real server under eight devices)
	@go test -count=1 -timeout 0 -v -run '^TestNothingAcknowledgedIsLostInACrash$$' ./server -crash.kills 190

mutants:
	$(call say,switching off each rule of the merge and the exchange alone: a test must fail for each)
	@go test -count=1 -timeout 0 -v -tags mutants -run '^TestMutants$$' ./logbook $(if $(TABLE),-mutant.table '$(abspath $(TABLE))')
	$(call say,switching off each rule of time alone: a law must fail for each on days drawn by chance)
	@go test -count=1 -timeout 0 -v -tags mutants -run '^TestMutants$$' ./logbook/days $(if $(TABLE),-mutant.table '$(abspath $(dir $(TABLE))/days/MUTANTS.md)')
