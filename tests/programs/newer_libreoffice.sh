#!/bin/sh
# Runs a command with the LibreOffice of Debian's backports in the place of the system's, in a
# view of the files of its own; the system stays as it is.
# Usage: newer_libreoffice.sh FOLDER COMMAND...   Ends with 77 where that cannot be done.
set -eu
folder=$1
shift

not_here() {
    echo "no newer LibreOffice here: $1"
    exit 77
}

[ "$(id -u)" = 0 ] || not_here "this account may not mount"
unshare -m true 2>/dev/null || not_here "this machine lets nobody mount"
command -v apt-get >/dev/null || not_here "no apt-get"
codename=$(. /etc/os-release && echo "${VERSION_CODENAME:-}")
site=$(apt-get indextargets --format '$(SITE)' "Created-By: Packages" "Codename: $codename" |
    head -n 1)
[ -n "$site" ] || not_here "its sources do not say where Debian's packages are"

if [ ! -e "$folder/complete" ]; then
    rm -rf "$folder"
    mkdir -p "$folder/lists" "$folder/packages" "$folder/root" "$folder/more"
    keys=/usr/share/keyrings/debian-archive-keyring.gpg
    echo "deb [signed-by=$keys] $site $codename-backports main" >"$folder/sources.list"
    backports() {
        apt-get -qq -o Dir::Etc::sourcelist="$folder/sources.list" \
            -o Dir::Etc::sourceparts=/dev/null -o Dir::State::lists="$folder/lists" \
            -o APT::Sandbox::User=root "$@"
    }
    backports update >/dev/null 2>&1 || not_here "no backports"
    (
        cd "$folder/packages"
        for name in base-core calc common core style-colibre uiconfig-calc uiconfig-common; do
            echo "libreoffice-$name/$codename-backports"
        done >names
        for name in libuno-cppu3 libuno-cppuhelpergcc3-3 libuno-purpenvhelpergcc3-3 libuno-sal3 \
            libuno-salhelpergcc3-3 python3-uno uno-libs-private ure; do
            echo "$name/$codename-backports"
        done >>names
        backports download $(cat names)
        apt-get -qq -o APT::Sandbox::User=root download libzxcvbn0
    ) || not_here "its packages cannot be had"
    for package in "$folder"/packages/*.deb; do
        case $package in
        *libzxcvbn*) dpkg -x "$package" "$folder/more" ;;
        *) dpkg -x "$package" "$folder/root" ;;
        esac
    done
    # What the package's own set-up would do.
    cp "$folder/root/usr/lib/libreoffice/share/.registry/main.xcd" \
        "$folder/root/etc/libreoffice/registry/"
    touch "$folder/complete"
fi

exec unshare -m sh -eu -c '
    folder=$1
    shift
    for place in /usr/lib/libreoffice /usr/share/libreoffice /etc/libreoffice \
        /usr/lib/python3/dist-packages/uno.py /usr/lib/python3/dist-packages/unohelper.py; do
        mount --bind "$folder/root$place" "$place"
    done
    LD_LIBRARY_PATH=$(echo "$folder"/more/usr/lib/*-linux-gnu) exec "$@"
' sh "$folder" "$@"
