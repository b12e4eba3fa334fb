#!/usr/bin/env bash
# Colour only on a terminal without NO_COLOR, the width of the terminal, and Ctrl-C.
. "$(dirname -- "${BASH_SOURCE[0]}")/common.bash"

# on_terminal COLUMNS COMMAND...: runs it on a terminal so wide, what it shows goes to $work/out.
on_terminal() {
    /usr/bin/python3 - "$@" >out <<'PYTHON'
import fcntl, os, pty, struct, sys, termios
columns, command = int(sys.argv[1]), sys.argv[2:]
child, terminal = pty.fork()
if child == 0:
    fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", 50, columns, 0, 0))
    os.execvp(command[0], command)
shown = b""
try:
    while data := os.read(terminal, 65536):
        shown += data
except OSError:
    pass  # Linux says so at the end
os.waitpid(child, 0)
sys.stdout.buffer.write(shown.replace(b"\r\n", b"\n"))
PYTHON
}
export TERM=xterm
unset NO_COLOR

run 0 run "$good" --out good
grep -q $'\e' out && fail "colour without a terminal"
on_terminal 100 "$LINKDRILL" run "$good" --out good
head -1 out | grep -q $'^\e\\[32mPASS\e\\[0m\\(  \\|, link only: \\)' || fail "no colour on a terminal: $(head -1 out | cat -v)"
grep -q $'\e\\[33mstopped\e\\[0m' out || fail "no colour on an outcome"
on_terminal 100 env NO_COLOR=1 "$LINKDRILL" run "$good" --out good
grep -q $'\e' out && fail "colour in spite of NO_COLOR"
on_terminal 100 env TERM=dumb "$LINKDRILL" run "$good" --out good
grep -q $'\e' out && fail "colour on a dumb terminal"
on_terminal 100 "$LINKDRILL" run "$good" --out good --json
grep -q $'\e' out && fail "colour in JSON"
for columns in 60 80 100 200; do
    on_terminal $columns env NO_COLOR=1 "$LINKDRILL" run "$good" --out good
    [ "$(wc -L <out)" -le $((columns < 100 ? columns : 100)) ] || fail "wider than $columns columns"
done
on_terminal 80 env NO_COLOR=1 "$LINKDRILL" run "$good" --out good
grep -q '^    stopped  caught by: ' out || fail "no two-line rows at 80 columns"

# Ctrl-C while the program waits (here for the reader of its log) ends with 130 and says so.
/usr/bin/python3 - "$LINKDRILL" <<'PYTHON' || fail "Ctrl-C"
import os, signal, subprocess, sys, time
os.mkfifo("log")
run = subprocess.Popen([sys.argv[1], "crc", "CRC-32/ISCSI", "--text", "a", "--log", "log"], stderr=subprocess.PIPE)

def handles_interrupt():
    caught = next(line for line in open(f"/proc/{run.pid}/status") if line.startswith("SigCgt"))
    return int(caught.split()[1], 16) >> (signal.SIGINT - 1) & 1

deadline = time.monotonic() + 10
while not handles_interrupt() and time.monotonic() < deadline:
    time.sleep(0.01)
run.send_signal(signal.SIGINT)
said = run.communicate(timeout=10)[1]
assert run.returncode == 130, (run.returncode, said)
assert said.strip().startswith(b"STOPPED"), said
PYTHON
finish
