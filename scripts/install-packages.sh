#!/usr/bin/env bash
# Installs the system packages that Secondcut needs and that are missing.
#
#   scripts/install-packages.sh run     what building and serving need
#   scripts/install-packages.sh test    that, and what the tests need
#   scripts/install-packages.sh check   that, and what the checks need
#
# Knows Debian 12 and Ubuntu 24.04. Does nothing, quickly, when all is there.
set -euo pipefail

say() { printf 'secondcut: %s\n' "$*" >&2; }
die() { say "$*"; exit 1; }

# Name of the C++ compiler and the libraries; the contrib package has the tag
# detector (opencv2/aruco.hpp).
run_packages="g++ libopencv-core-dev libopencv-imgproc-dev libopencv-dnn-dev libopencv-contrib-dev libturbojpeg0-dev"
# poppler reads PDFs back in tests, ezdxf DXF; the browser needs at least one font.
test_packages="poppler-utils python3-ezdxf fonts-dejavu-core"

have_package() { dpkg-query -W -f '${db:Status-Status}\n' "$1" 2>/dev/null | grep -qx installed; }
have_browser() {
	local b
	for b in chromium chromium-browser google-chrome google-chrome-stable; do
		command -v "$b" >/dev/null && return 0
	done
	return 1
}
# Node comes from many places besides the distribution; what counts is its age.
have_node() {
	command -v node >/dev/null && [ "$(node -p 'parseInt(process.versions.node)')" -ge 18 ]
}

check_go() {
	local want="1.26" got
	command -v go >/dev/null || die "Go is missing: install Go $want or newer from https://go.dev/dl and run this again."
	got=$(GOTOOLCHAIN=local go env GOVERSION 2>/dev/null | sed 's/^go//; s/[^0-9.].*//')
	[ "$(printf '%s\n%s\n' "$want" "$got" | sort -V | head -n1)" = "$want" ] ||
		die "Go ${got:-of unknown version} is too old: install Go $want or newer from https://go.dev/dl and run this again."
}

distribution() {
	[ -r /etc/os-release ] && (. /etc/os-release && printf '%s %s' "${ID:-unknown}" "${VERSION_ID:-}")
}

missing_packages() {
	local p want="$run_packages"
	if [ "$1" != run ]; then want="$want $test_packages"; fi
	for p in $want; do
		have_package "$p" || printf '%s ' "$p"
	done
	[ "$1" != run ] || return 0
	have_node || printf 'nodejs '
	if [ "$1" = check ] && ! command -v npm >/dev/null; then printf 'npm '; fi
	# Ubuntu's package of that name is an installer for a snap, which works
	# neither in containers nor as root: there the browser is the person's choice.
	if ! have_browser && [ "$distro" = debian ]; then printf 'chromium '; fi
}

install() {
	local sudo=""
	if [ "$(id -u)" -ne 0 ]; then
		command -v sudo >/dev/null || die "these packages are missing and there is no sudo: $*. Install them as root and run this again."
		sudo=sudo
	fi
	say "installing $*"
	# Package lists may be absent (fresh containers) or stale (apt-get fails).
	if ! apt-cache show "$@" >/dev/null 2>&1; then $sudo apt-get update -q; fi
	run_apt "$sudo" "$@" && return
	$sudo apt-get update -q
	run_apt "$sudo" "$@"
}

run_apt() {
	local sudo=$1
	shift
	$sudo env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "$@"
}

what=${1:-run}
case $what in run | test | check) ;; *) die "usage: $0 run|test|check" ;; esac
check_go
system=$(distribution || true)
distro=${system%% *}
case $system in
"debian 12" | "ubuntu 24.04") ;;
*) die "this is ${system:-an unknown system}; only Debian 12 and Ubuntu 24.04 are set up by this script. Elsewhere use Docker: docker compose up" ;;
esac
missing=$(missing_packages "$what")
# shellcheck disable=SC2086 # a list of words
if [ -n "$missing" ]; then install $missing; fi
if [ "$what" != run ] && ! have_browser; then
	say "no Chromium or Chrome found: the browser tests will be skipped (with CI set they fail). Ubuntu: snap install chromium"
fi
