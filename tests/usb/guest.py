"""The inside of the emulated machine: real drivers with a rig behind them, and the program tried on them as it is typed.

Runs as root in Debian's kernel on this computer's own files (read-only); what it needs from outside it asks machine.py for.
Each case ends with a word; an exception fails it.
"""
import contextlib
import json
import os
import platform
import shutil
import subprocess
import sys
import threading
import time

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from inside import Cdc, Ftdi, Outside, Program, ROOM, UsbWatch, check, mode_of, run, text_of, until, write

STRIKES = ["--strike", "hip>foot:60"]  # a strike 60 ms into each drop
SHORT = 'title = "short"\nsets = 1\nreps = 5\nlevel = "beginner"\n[[attack]]\nkind = "single"\nmoment = "drop"\n'

# The cases. Each begins with a rig and nothing plugged in; what it leaves plugged in is taken away.

CASES = []


def case(words):
    def add(function):
        CASES.append((words, function))
        return function
    return add


@case("found by search")
def found_by_search(driver):
    path = driver.plugged("rig")
    code, said = run(["rigs", "check"])
    check(code == 0 and f"on {path}" in said, said)


@case("by its path and by a by-id link")
def by_path_and_link(driver):
    for path in (driver.plugged("rig"), "/run/by-id/usb-" + driver.serials["rig"]):
        code, said = run(["rigs", "check", "--rig", path])
        check(code == 0 and f"on {path}" in said, said)


@case("refused without permission, and the group named")
def no_permission(driver):
    path = driver.plugged("rig")
    for arguments in (["--rig", path], []):
        code, said = run(["rigs", "check", *arguments], "stranger")
        check(code == 3 and "permission denied" in said and "dialout" in said, f"{code}: {said}")


@case("500,000 baud at the adapter")
def baud(driver):
    path = driver.plugged("rig")
    with UsbWatch(driver) as watch:
        code, said = run(["rigs", "check", "--rig", path])
        check(code == 0, said)
        until(lambda: any(driver.baud_set.search(line) for line in watch.lines), 5, "the baud on the bus")


@case("latency timer 1 ms, by an ordinary user")
def latency_timer(driver):
    path = driver.plugged("rig")
    timer = f"/sys/bus/usb-serial/devices/{os.path.basename(path)}/latency_timer"
    if not os.path.exists(timer):
        return "has none"
    before = text_of(timer)
    with Program(["rigs", "watch", "--rig", path]):
        until(lambda: text_of(timer) == "1", 10, f"the timer, {before} ms before")
    return None


@case("a second program is refused, root's too, and changes nothing")
def second_program(driver):
    path = driver.plugged("rig")
    driver.rig(["--strike-at", "12"])
    with UsbWatch(driver) as watch, Program(["rigs", "watch", "--rig", path]) as first:
        until(lambda: any(driver.baud_set.search(line) for line in watch.lines), 10, "the first program's opening")
        time.sleep(1)
        before, said_before = mode_of(path), len(first.err)
        for user in ("member", "root"):
            code, said = run(["rigs", "check", "--rig", path], user)
            check(code == 3 and "another program holds it" in said, f"{user}: {code}: {said}")
        check(mode_of(path) == before, f"{before} became {mode_of(path)}")
        check(before[6] == 1, f"VMIN {before[6]}")
        first.wait_for("strike on", 20)
        check(len(first.err) == said_before, first.said())
        check(watch.changes == [True], f"the modem line moved: {watch.changes}")


def drill(path, store, *more):
    return ["drill", "short.toml", "--headless", "--json", "--store", store, "--seed", "6", "--rig", path, *more]


def session_of(program):
    return json.loads("\n".join(program.out))["sessions"][0]


@case("a whole drill, its latencies as the rig's own log")
def whole_drill(driver):
    path = driver.plugged("rig")
    # A start that was lost is given again, but later than any wait of a set.
    driver.rig(["--strike-at", "2", "--again", "9", *STRIKES])
    with Program(drill(path, "whole.db")) as program:
        check(program.end(120) == 0, program.said())
    session = session_of(program)
    check(session["ended"] == "finished", session["ended"])
    blows = [(blow["time"] - blow["lamps"]) / 2000 for blow in driver.truth() if blow["lamps"]]
    reps = [rep for rep in session["reps"] if rep["latency_ms"] is not None]
    # An emulated machine stalls: its clock's bound may be too wide for a rep now and then.
    others = [rep["void_reason"] for rep in session["reps"] if rep["latency_ms"] is None]
    check(len(reps) >= 3 and set(others) <= {"bound_too_wide"}, f"{len(reps)} latencies, others: {others}")
    worst = max(min(abs(rep["latency_ms"] - blow) for blow in blows) for rep in reps)
    # The rig's stamp of the lamp and of the blow: no link delay is in it.
    check(worst < 0.5, f"off by {worst:.3f} ms: {[rep['latency_ms'] for rep in session['reps']]}; {others}; {driver.truth()}; "
          + program.said()[:600])
    return f"ok, {len(reps)} of 5 scored, at most {worst:.3f} ms off"


def in_a_set(driver, path, store, unplug_and_replug, said):
    """A drill whose rig goes away in its set and is back."""
    driver.rig(["--strike-at", "2", "--again", "4", *STRIKES])
    with Program(drill(path, store)) as program:
        until(lambda: any(blow["lamps"] for blow in driver.truth()), 120, "a rep's blow")
        back = unplug_and_replug()
        program.wait_for("is gone", 20)
        program.wait_for("the rig is back on " + back, 30)
        check(program.end(150) == 0, program.said())
    check(session_of(program)["ended"] == "finished", session_of(program)["ended"])
    lines = [line for line in program.err if line.startswith("breakstep:")]
    check(len(lines) <= 10, "\n".join(lines))
    for text in said:
        check(text in program.said(), program.said())


@case("unplugged in a set, back as the same name")
def back_as_the_same(driver):
    path = driver.plugged("rig")

    def again():
        driver.unplugged("rig")
        check(driver.plugged("rig") == path, "another name")
        return path
    in_a_set(driver, path, "same.db", again, [])


@case("unplugged in a set, back as another name")
def back_as_another(driver):
    path = driver.plugged("rig")
    held = []

    def again():
        # Somebody still holds the old node: its number stays taken. (Root passes the exclusive mark.)
        held.append(os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK))
        driver.unplugged("rig")
        new = driver.plugged("rig")
        check(new != path, "the same name")
        return new
    try:
        in_a_set(driver, path, "other.db", again, [])
    finally:
        for each in held:
            os.close(each)


@case("unplugged in a set, back as another name while a mute adapter has the old one")
def back_beside_a_mute_one(driver):
    path = driver.plugged("rig")

    def again():
        driver.unplugged("rig")
        check(driver.plugged("mute") == path, "the mute one has another name")
        # Long enough for the old name to be taken for the rig's.
        time.sleep(3)
        new = driver.plugged("rig")
        check(new != path, "the same name")
        return new
    in_a_set(driver, path, "mute.db", again, [])


@case("a mute device: said, and left at once")
def mute_device(driver):
    path = driver.plugged("mute")
    for arguments in (["--rig", path], []):
        begin = time.monotonic()
        code, said = run(["rigs", "check", *arguments], seconds=80)
        seconds = time.monotonic() - begin
        check(code == 3 and f"nothing on {path} answers as a rig" in said, f"{code}: {said}")
        # 10 s of patience; the kernel's own wait at the close would be another 30.
        check(seconds < 35, f"took {seconds:.0f} s")


@case("a board that restarts when its lines rise")
def restarts_at_the_opening(driver):
    path = driver.plugged("rig")
    with UsbWatch(driver, on_rise=driver.reset_rig) as watch:
        for opened in (1, 2):
            code, said = run(["rigs", "check", "--rig", path])
            check(code == 0, said)
            until(lambda: watch.changes == [True, False] * opened, 10, "DTR up and down at each opening")
    return "ok, 2 resets"


@case("silence, then strikes: all told, at most ten other lines")
def silence(driver):
    path = driver.plugged("rig")
    seconds = wanted["silence"]
    strikes = [argument for i in range(20) for argument in ("--strike-at", str(seconds + i / 4))]
    driver.rig(strikes)
    with Program(["rigs", "watch", "--rig", path, "--seconds", str(seconds + 20)]) as program:
        check(program.end(seconds + 80) == 0, program.said())
    told = [line for line in program.out if "strike on" in line]
    others = len(program.out) + len(program.err) - len(told)
    check(len(told) == 20, f"{len(told)} strikes told")
    check(others <= 10, program.said())
    return f"ok, {len(told)} told, {others} other lines"


@case("no rig at all: one sentence that says what to try")
def no_rig(_):
    outside_of_sys = ["unshare", "-m", "sh", "-c", "umount -l /sys/kernel/debug /sys/kernel/config /sys; exec \"$@\"", "sh"]
    for where in ([], outside_of_sys):
        listed = subprocess.run([*where, ROOM + "/breakstep", "rigs", "list"], capture_output=True, text=True, timeout=60)
        lines = listed.stderr.splitlines()
        check(len(lines) == 1 and "--rig simulated" in lines[0], f"{listed.returncode}: {listed.stderr}")
    # /dev/ttyS1 is there and can't do 500,000 baud.
    code, said = run(["rigs", "check"], "root")
    check(code == 3 and "no rig was found" in said and "--rig simulated" in said, f"{code}: {said}")
    code, said = run(["rigs", "check", "--rig", "/dev/ttyS1"], "root")
    check(code == 3 and "does not do 500,000 baud" in said, f"{code}: {said}")


def try_case(words, function, driver):
    begin = time.monotonic()
    try:
        result = function(driver) or "ok"
    except Exception as error:
        result = "FAILED"
        outside.say(f"usb: {driver.name}: {words}: {type(error).__name__}: {error}")
    seconds = time.monotonic() - begin
    for adapter in ("rig", "mute"):
        if driver.tty_of(adapter):
            with contextlib.suppress(Exception):
                driver.unplugged(adapter)
    outside.row(words, driver.name, result, seconds)


def all_cases():
    drivers = [Ftdi(outside), Cdc()]
    chosen = [each for each in CASES if wanted["only"] in each[0]]
    for words, function in chosen:
        if function is silence:
            # The long one, on both at once.
            tries = [threading.Thread(target=try_case, args=(words, function, driver)) for driver in drivers]
            for each in tries:
                each.start()
            for each in tries:
                each.join()
            continue
        for driver in drivers if function is not no_rig else drivers[:1]:
            driver.rig([])
            try_case(words, function, driver)
            driver.no_rig()


def main():
    os.makedirs(ROOM)
    os.chmod(ROOM, 0o777)
    shutil.copy(wanted["program"], ROOM + "/breakstep")
    os.chmod(ROOM + "/breakstep", 0o755)
    write(ROOM + "/short.toml", SHORT)
    os.environ.update(HOME=ROOM, TMPDIR=ROOM, LC_ALL="C.UTF-8")
    program = subprocess.run([ROOM + "/breakstep", "--version"], capture_output=True, text=True, timeout=60)
    outside.version(f"Linux {platform.release()}; {(program.stdout or 'breakstep').strip()}")
    all_cases()
    outside.line.write(b'{"ask": "done"}\n')
    time.sleep(2)


if __name__ == "__main__":
    outside = Outside()
    wanted = outside.wanted()
    main()
