#!/usr/bin/env bash
# Run one program in a small virtual machine whose kernel has SocketCAN.
#
# For machines (CI runners, containers, micro-VMs) whose own kernel has no
# AF_CAN. Boots a stock Debian kernel under QEMU with an initramfs made on the
# spot, brings up vcan0 (classic), vcan1 (CAN FD) and lo, runs the program as
# root, and ends with the program's exit status. Needs neither root nor KVM.
#
# Debian packages: qemu-system-x86 busybox-static kmod cpio
# (and can-utils for -u, iproute2 for -k). The kernel package is downloaded and unpacked into
# a cache folder; it is never installed.

set -euo pipefail

me=${0##*/}

usage() {
    cat <<USAGE
usage: $me [options] [--] PROGRAM [ARG...]
       $me [options] --prepare

PROGRAM is a Linux x86-64 executable, static or dynamic (the shared libraries
that ldd names are copied along), or the word 'sh' for the shell in the VM.
It runs in /vm; its standard output and standard error come back apart.

options:
  -f FILE    copy FILE into the VM's /vm (may be repeated)
  -s DIR     share the folder DIR read-write as /share in the VM
  -u         put can-utils (candump, cansend, cangen, slcand ...) in the VM
  -k         add two emulated classic CAN controllers on one emulated bus, as
             can0 and can1, up at 500 kbit/s; puts iproute2's ip in the VM
  -e N=V     set the environment variable N to V (may be repeated)
  -m MIB     memory of the VM (default 256, and twice the size of what is put in)
  -c N       processors of the VM (default 2)
  -t SEC     give up after SEC seconds, boot included (default 120)
  -l FILE    keep the kernel's console log in FILE
  -v         say what is done, and the times it took, on standard error
  -h         this text
  --prepare  only fetch the kernel and fill the cache

environment:
  CAN_VM_CACHE       cache folder (default: \${XDG_CACHE_HOME:-~/.cache}/can-vm)
  CAN_VM_KERNEL_DEB  use this kernel package file; download none
  CAN_VM_ACCEL       QEMU accelerator (default tcg, which works everywhere)

exit status: that of PROGRAM (128+N if signal N ended it); 124 if the time ran
out; 125 if the VM could not be prepared or broke down; 2 for a wrong call.
USAGE
}

say()  { if [[ $verbose == 1 ]]; then printf '%s: %s\n' "$me" "$*" >&2; fi; }
die()  { printf '%s: error: %s\n' "$me" "$*" >&2; exit 125; }
misuse() { printf '%s: %s\n' "$me" "$*" >&2; usage >&2; exit 2; }
now()  { date +%s.%N; }
since() { awk -v a="$1" -v b="$(now)" 'BEGIN { printf "%.1f s", b - a }'; }

# ---- the call ---------------------------------------------------------------

verbose=0 canutils=0 controllers=0 prepare=0 mem='' cpus=2 limit=120 share='' log=''
files=() env=()

while [[ $# -gt 0 ]]; do
    case $1 in
        -h|--help) usage; exit 0 ;;
        -v) verbose=1; shift ;;
        -u) canutils=1; shift ;;
        -k) controllers=1; shift ;;
        --prepare) prepare=1; shift ;;
        -[fsemctl])
            [[ $# -ge 2 ]] || misuse "$1 needs a value"
            case $1 in
                -f) files+=("$2") ;;
                -s) share=$2 ;;
                -e) env+=("$2") ;;
                -m) mem=$2 ;;
                -c) cpus=$2 ;;
                -t) limit=$2 ;;
                -l) log=$2 ;;
            esac
            shift 2 ;;
        --) shift; break ;;
        -*) misuse "unknown option $1" ;;
        *) break ;;
    esac
done

for n in "${mem:-1}" "$cpus" "$limit"; do
    [[ $n =~ ^[1-9][0-9]*$ ]] || misuse "'$n' is not a positive whole number"
done
if [[ $prepare == 0 && $# == 0 ]]; then misuse 'no PROGRAM given'; fi
if [[ -n $share ]]; then
    [[ -d $share ]] || misuse "-s $share: no such folder"
    share=$(cd "$share" && pwd)
    [[ $share != *,* ]] || misuse "-s: QEMU takes no comma in a folder's name"
fi
for f in "${files[@]}"; do [[ -f $f ]] || misuse "-f $f: no such file"; done
for e in "${env[@]}"; do
    [[ $e =~ ^[A-Za-z_][A-Za-z0-9_]*= ]] || misuse "-e $e: not NAME=VALUE"
done

need() { # COMMAND PACKAGE
    command -v "$1" >/dev/null || die "'$1' not found; try: apt-get install $2"
}
PATH=$PATH:/usr/sbin:/sbin
need qemu-system-x86_64 qemu-system-x86
need modinfo kmod
need cpio cpio
need dpkg-deb dpkg
busybox=$(command -v busybox) || die "'busybox' not found; try: apt-get install busybox-static"
if ldd "$busybox" >/dev/null 2>&1; then
    die "$busybox is not static; try: apt-get install busybox-static"
fi

tmp=$(mktemp -d)
new=''       # an unfinished cache entry
qemu_pid=''
# shellcheck disable=SC2317 # called by the trap
cleanup() {
    if [[ -n $qemu_pid ]]; then kill "$qemu_pid" 2>/dev/null || true; fi
    rm -rf "$tmp" ${new:+"$new"}
}
trap cleanup EXIT
trap 'exit 130' INT
trap 'exit 143' TERM

# ---- the kernel and its modules ---------------------------------------------

cache=${CAN_VM_CACHE:-${XDG_CACHE_HOME:-$HOME/.cache}/can-vm}
mkdir -p "$cache" || die "cannot make the cache folder $cache"

# Loaded in this order, each after the modules it depends on.
modules=(virtio_pci virtio_console 9pnet_virtio 9p
         can can-raw can-bcm can-gw can-dev vcan slcan kvaser_pci)

kernel_package() {
    { apt-cache depends linux-image-amd64 2>/dev/null || true; } |
        awk '$1 == "Depends:" && $2 ~ /^linux-image-[0-9]/ { p = $2 } END { print p }'
}

add_module() { # TREE NAME: appends NAME, its dependencies first, to 'order'
    local tree=$1 name=${2//_/-} file dep deps
    name=${name//-/[-_]}
    file=$(find "$tree" \( -name "$name.ko" -o -name "$name.ko.xz" \
        -o -name "$name.ko.zst" -o -name "$name.ko.gz" \) -print -quit)
    if [[ -z $file ]]; then
        if grep -Eqs "/$name\.ko$" "$tree"/*/modules.builtin; then return; fi
        die "the kernel package has no module '$2' (the cloud kernels have no CAN)"
    fi
    deps=$(modinfo -F depends "$file")
    for dep in ${deps//,/ }; do add_module "$tree" "$dep"; done
    local base=${file##*/}; base=${base%%.ko*}.ko
    [[ -e $new/root/modules/$base ]] && return
    case $file in   # the VM's insmod is given plain modules
        *.xz)  xz -dc "$file" ;;
        *.zst) zstd -dcq "$file" ;;
        *.gz)  gzip -dc "$file" ;;
        *)     cat "$file" ;;
    esac >"$new/root/modules/$base"
    printf '%s\n' "$base" >>"$new/root/modules/order"
}

# Unpacks the kernel here: its own unpacking takes seconds under emulation.
# QEMU starts an unpacked kernel by its PVH entry (CONFIG_PVH). Where this
# does not work out, the packed kernel serves.
unpack_kernel() { # VMLINUZ: writes $new/kernel
    local image=$1 setup offset length magic tool
    setup=$(od -An -tu1 -j $((0x1f1)) -N 1 "$image")
    read -r offset length < <(od -An -tu4 -j $((0x248)) -N 8 "$image")
    offset=$(((setup + 1) * 512 + offset))
    magic=$(od -An -tx1 -j $offset -N 4 "$image" | tr -d ' ')
    case $magic in
        fd377a58) tool='xz -dc --single-stream' ;;
        28b52ffd) tool='zstd -dcq' ;;
        1f8b*)    tool='gzip -dcq' ;;
        *)        tool=false ;;
    esac
    # Other tools than xz may complain of the length that follows the data.
    tail -c +$((offset + 1)) "$image" | head -c "$length" | $tool >"$new/kernel" 2>/dev/null || true
    # Note 18 of owner Xen is the PVH entry.
    if ! readelf -n "$new/kernel" 2>/dev/null | grep '0x00000012' >/dev/null; then
        say 'the kernel could not be unpacked here; it will unpack itself'
        cp "$image" "$new/kernel"
    fi
}

fetch_kernel() { # sets 'kdir', a cache folder with kernel and base.cpio
    local deb=${CAN_VM_KERNEL_DEB:-} pkg key sum t m
    sum=$(cksum <"${BASH_SOURCE[0]}" | cut -d' ' -f1)
    if [[ -n $deb ]]; then
        [[ -f $deb ]] || die "CAN_VM_KERNEL_DEB=$deb: no such file"
        key=$(basename "$deb" .deb)
    else
        pkg=$(kernel_package)
        if [[ -z $pkg ]]; then
            # No package lists here: any kernel kept from before will do.
            kdir=$(find "$cache" -maxdepth 1 -name "linux-image-*-$sum" | sort -V | tail -n 1)
            [[ -n $kdir && -e $kdir/base.cpio ]] && return
            die 'apt knows no linux-image-amd64; run: apt-get update'
        fi
        key=$pkg
    fi
    # A changed script makes a new base: its sum is part of the name.
    kdir=$cache/$key-$sum
    if [[ -e $kdir/base.cpio && -e $kdir/kernel ]]; then
        say "kernel from the cache: $kdir"
        return
    fi
    t=$(now)
    if [[ -z $deb ]]; then
        say "downloading $pkg"
        (cd "$tmp" && apt-get -qq -o APT::Sandbox::User=root download "$pkg") >&2 ||
            die "cannot download $pkg; run 'apt-get update' and try again"
        deb=$(ls "$tmp"/*.deb)
    fi
    new=$(mktemp -d "$cache/new.XXXXXX")
    mkdir -p "$tmp/k" "$new/root"/{bin,dev,proc,sys,tmp,vm,share,modules}
    # Not the whole package: it unpacks to 400 MB.
    dpkg-deb --fsys-tarfile "$deb" | tar -x -C "$tmp/k" --wildcards \
        '*/vmlinuz-*' '*/modules.builtin' '*/drivers/virtio/*' \
        '*/drivers/char/virtio_console.ko*' '*/drivers/net/can/*' \
        '*/net/can/*' '*/net/9p/*' '*/fs/9p/*' '*/fs/netfs/*' '*/fs/fscache/*' \
        2>"$tmp/tar.err" || grep -q 'Not found in archive' "$tmp/tar.err" ||
        die "cannot unpack $deb: $(cat "$tmp/tar.err")"
    unpack_kernel "$tmp"/k/boot/vmlinuz-*
    for m in "${modules[@]}"; do add_module "$tmp"/k/*lib/modules "$m"; done
    cp "$busybox" "$new/root/bin/busybox"
    write_init >"$new/root/init"
    chmod 755 "$new/root/init" "$new/root/bin/busybox"
    (cd "$new/root" && find . | cpio -o -H newc -R 0:0 --quiet) >"$new/base.cpio"
    rm -rf "$new/root"
    # Another run may have been first; then its copy stays.
    mv -T "$new" "$kdir" 2>/dev/null || rm -rf "$new"
    new=''
    say "kernel prepared in $(since "$t")"
}

write_init() {
    cat <<'INIT'
#!/bin/busybox sh
# The first and only service of the VM.
/bin/busybox --install -s /bin
export PATH=/usr/bin:/bin HOME=/vm TERM=dumb
mount -t proc proc /proc
mount -t sysfs sysfs /sys
mount -t devtmpfs dev /dev
mkdir -p /dev/pts /dev/shm /tmp /vm
mount -t devpts devpts /dev/pts
mount -t tmpfs tmpfs /dev/shm
mount -t tmpfs tmpfs /tmp

give_up() { echo "init: $*"; echo "init: giving up"; poweroff -f; }

while read -r m; do insmod "/modules/$m" || give_up "cannot load $m"; done </modules/order

port() {
    for d in /sys/class/virtio-ports/*; do
        if [ "$(cat "$d/name" 2>/dev/null)" = "$1" ]; then echo "/dev/${d##*/}"; return; fi
    done
    give_up "no virtio port named $1"
}
wait_ports() {
    i=0
    until grep -qs status /sys/class/virtio-ports/*/name; do
        i=$((i + 1)); [ $i -gt 200 ] && give_up "no virtio ports"
        usleep 20000
    done
}
wait_ports
out=$(port out) err=$(port err) status=$(port status)

ip link set lo up
ip link add dev vcan0 type vcan && ip link set vcan0 mtu 16 && ip link set vcan0 up || give_up "no vcan0"
ip link add dev vcan1 type vcan && ip link set vcan1 mtu 72 && ip link set vcan1 up || give_up "no vcan1"

if [ -e /usr/bin/ip ]; then
    for c in can0 can1; do
        # By its path: this shell prefers busybox's own ip to that in PATH.
        /usr/bin/ip link set $c up type can bitrate 500000 restart-ms 100 || give_up "no $c"
    done
fi

if grep -qs can_vm_share /sys/bus/virtio/drivers/9pnet_virtio/*/mount_tag; then
    mount -t 9p -o trans=virtio,version=9p2000.L,msize=131072 can_vm_share /share ||
        give_up "cannot mount /share"
fi

cd /vm
echo "init: running after $(cut -d' ' -f1 /proc/uptime) s"
echo "up $(cut -d' ' -f1 /proc/uptime)" >/status
sh /run.sh </dev/null >"$out" 2>"$err"
echo "exit $?" >>/status
cd /; sync; umount /share 2>/dev/null
cat /status >"$status"
poweroff -f
INIT
}

# ---- this run's part of the initramfs ---------------------------------------

quoted() { # one word for the VM's shell
    printf " '%s'" "${1//\'/\'\\\'\'}"
}

copy_libraries() { # BINARY: the shared libraries it needs, at the same paths
    local libs lib
    libs=$(ldd "$1" 2>/dev/null | grep -o '/[^ ]*') || return 0
    for lib in $libs; do
        mkdir -p "$root${lib%/*}"
        cp -L "$lib" "$root$lib"
    done
}

make_run() { # PROGRAM ARG...
    local program=$1 path e f t tool
    shift
    root=$tmp/root
    mkdir -p "$root/vm" "$root/usr/bin"
    if [[ $program == sh ]]; then
        path=/bin/sh
    else
        [[ -f $program ]] || misuse "$program: no such file"
        [[ -x $program ]] || misuse "$program: not executable"
        path=/vm/${program##*/}
        cp -L "$program" "$root$path"
        copy_libraries "$program"
    fi
    for f in "${files[@]}"; do
        cp -L "$f" "$root/vm/"
        if [[ -x $f ]]; then copy_libraries "$f"; fi
    done
    if [[ $canutils == 1 ]]; then
        need candump can-utils
        for tool in candump cansend cangen canplayer canbusload cansequence \
                    cangw canfdtest slcand slcan_attach slcanpty log2asc asc2log; do
            t=$(command -v $tool) || continue
            cp -L "$t" "$root/usr/bin/"
            copy_libraries "$t"
        done
    fi
    if [[ $controllers == 1 ]]; then
        need ip iproute2
        cp -L "$(command -v ip)" "$root/usr/bin/ip"
        copy_libraries "$root/usr/bin/ip"
    fi
    {
        for e in "${env[@]}"; do printf 'export%s\n' "$(quoted "$e")"; done
        printf 'exec%s' "$(quoted "$path")"
        for e in "$@"; do quoted "$e"; done
        printf '\n'
    } >"$root/run.sh"
    (cd "$root" && find . | cpio -o -H newc -R 0:0 --quiet) >"$tmp/run.cpio"
    # The kernel unpacks archives that follow one another, each 4-aligned.
    cat "$kdir/base.cpio" "$tmp/run.cpio" >"$tmp/initrd"
    # What is put in is held twice while the kernel unpacks it.
    : "${mem:=$((256 + 2 * $(stat -c %s "$tmp/run.cpio") / 1048576))}"
}

# ---- the VM -----------------------------------------------------------------

run_vm() {
    local t rc=0 args cat_out cat_err word value up=''
    mkfifo "$tmp/out" "$tmp/err"
    : >"$tmp/status"
    # shellcheck disable=SC2054 # the commas are QEMU's
    args=(
        -accel "${CAN_VM_ACCEL:-tcg}" -machine pc -cpu max -m "$mem" -smp "$cpus"
        -nodefaults -no-user-config -display none -no-reboot
        -kernel "$kdir/kernel" -initrd "$tmp/initrd"
        -append 'console=ttyS0 quiet loglevel=4 panic=-1 random.trust_cpu=on mitigations=off nokaslr tsc=reliable'
        -serial "file:$tmp/console"
        -device virtio-serial-pci
        -chardev "file,id=out,path=$tmp/out" -device virtserialport,chardev=out,name=out
        -chardev "file,id=err,path=$tmp/err" -device virtserialport,chardev=err,name=err
        -chardev "file,id=status,path=$tmp/status" -device virtserialport,chardev=status,name=status
    )
    if [[ $controllers == 1 ]]; then
        args+=(-object 'can-bus,id=bus' -device 'kvaser_pci,canbus=bus' -device 'kvaser_pci,canbus=bus')
    fi
    if [[ -n $share ]]; then
        args+=(-virtfs "local,path=$share,mount_tag=can_vm_share,security_model=none,multidevs=remap")
    fi
    cat <"$tmp/out" & cat_out=$!
    cat <"$tmp/err" >&2 & cat_err=$!
    t=$(now)
    timeout -k 5 "$limit" qemu-system-x86_64 "${args[@]}" </dev/null >"$tmp/qemu.log" 2>&1 &
    qemu_pid=$!
    wait "$qemu_pid" || rc=$?
    qemu_pid=''
    # Had QEMU not started, nobody opened the pipes: open and close them.
    : <>"$tmp/out"; : <>"$tmp/err"
    wait "$cat_out" "$cat_err" 2>/dev/null || true
    if [[ -n $log ]]; then cp "$tmp/console" "$log" 2>/dev/null || : >"$log"; fi

    while read -r word value; do
        case $word in up) up=$value ;; exit) result=$value ;; esac
    done <"$tmp/status"
    say "VM ran for $(since "$t"); the program started ${up:-?} s after the kernel did"
    if [[ -n ${result:-} ]]; then return; fi
    {
        if [[ $rc == 124 || $rc == 137 ]]; then
            echo "$me: error: time ran out after $limit s (-t)"
        else
            echo "$me: error: the VM ended without a result (QEMU status $rc)"
        fi
        if [[ -s $tmp/qemu.log ]]; then echo '--- QEMU said:'; tail -n 20 "$tmp/qemu.log"; fi
        if [[ -s $tmp/console ]]; then echo '--- the console ended with:'; tail -n 20 "$tmp/console"; fi
    } >&2
    if [[ $rc == 124 || $rc == 137 ]]; then result=124; else result=125; fi
}

fetch_kernel
if [[ $prepare == 1 ]]; then exit 0; fi
make_run "$@"
result=''
run_vm
exit "$result"
