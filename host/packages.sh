# Sourced by host/run and tests/run: installs what is missing of the named sections of config/debian-packages.txt.
# Silent when there is nothing to do; all it says goes to stderr.

# packages_of SECTION...: the packages of these sections, one a line.
packages_of() {
    local section
    for section in "$@"; do
        awk -v wanted="[$section]" '/^\[/ { inside = ($0 == wanted); next } inside && NF && !/^#/ { print $1 }' \
            "$top/config/debian-packages.txt"
    done
}

# as_root COMMAND...
as_root() { if [ "$(id -u)" -eq 0 ]; then "$@"; else sudo "$@"; fi; }

# install_missing SECTION...
install_missing() {
    local missing="" package
    for package in $(packages_of "$@"); do
        dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing="$missing $package"
    done
    [ -n "$missing" ] || return 0
    [ "$(id -u)" -eq 0 ] || command -v sudo >/dev/null || {
        echo "These packages are missing:$missing. Install them as root (apt-get install), then run this again." >&2
        return 1
    }
    echo "installing:$missing" >&2
    {
        as_root apt-get update -qq &&
            as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $missing
    } >&2 || {
        echo "The packages could not be installed. Is this Debian 12, and is the network there? Then run this again." >&2
        return 1
    }
}

# quietly LOG COMMAND...: runs the command with its output in LOG, which is shown only if it fails.
quietly() {
    local log="$1"
    shift
    "$@" >"$log" 2>&1 || {
        cat "$log" >&2
        echo "failed: $*" >&2
        return 1
    }
}
