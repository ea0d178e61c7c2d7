"""video.py PROGRAM RIG PICTURES AXE: a video of our own making (a dot that steps in, drawn and recorded by the browser),
tapped by script; what the desk answers is what `timeable` and `leads` say of the same times."""
import base64
import json
import pathlib
import random
import re
import sys
import time

from selenium.webdriver.common.keys import Keys

from accessible import Axe, tab_to, tabbed
from hall import Lines, Room, Told, free_port
from phone import Phone

# A dot on the left is one of them, one on the right the other: each turns white for 100 ms when its foot comes in.
RECORD = """
const done = arguments[arguments.length - 1], [first, other, length] = arguments;
const canvas = document.createElement('canvas');
canvas.width = 160; canvas.height = 90;
const pen = canvas.getContext('2d', { alpha: false });
const stream = canvas.captureStream(30), chunks = [];
const recorder = new MediaRecorder(stream, { mimeType: 'video/webm;codecs=vp8', videoBitsPerSecond: 400000 });
recorder.ondataavailable = (event) => chunks.push(event.data);
recorder.onstop = async () => {
  const bytes = new Uint8Array(await new Blob(chunks).arrayBuffer());
  let text = '';
  for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
  done(btoa(text));
};
let began = 0;
const draw = (now) => {
  began ||= now;
  const at = (now - began) / 1000;
  pen.fillStyle = '#10191c'; pen.fillRect(0, 0, 160, 90);
  const on = (times) => times.some((each) => at >= each && at < each + 0.1);
  pen.fillStyle = on(first) ? '#ffffff' : '#31424a'; pen.fillRect(20, 25, 40, 40);
  pen.fillStyle = on(other) ? '#ffffff' : '#31424a'; pen.fillRect(100, 25, 40, 40);
  pen.fillStyle = '#46c4b7'; pen.fillRect(160 * at / length, 86, 3, 4);
  if (at > length) recorder.stop(); else requestAnimationFrame(draw);
};
recorder.start(1000);
requestAnimationFrame(draw);
"""

# Looks at the playing video as a person would, and taps what comes in: by the space bar's own event.
TAP = """
const done = arguments[arguments.length - 1], [left] = arguments;
const video = document.getElementById('video'), canvas = document.createElement('canvas');
canvas.width = 160; canvas.height = 90;
const pen = canvas.getContext('2d', { willReadFrequently: true });
let was = false, over = false;
const look = () => {
  if (over) return;
  pen.drawImage(video, 0, 0, 160, 90);
  const white = pen.getImageData(left ? 40 : 120, 45, 1, 1).data[0] > 150;
  if (white && !was) document.dispatchEvent(new KeyboardEvent('keydown', { code: 'Space', key: ' ', bubbles: true, cancelable: true }));
  was = white;
  if (!over) video.requestVideoFrameCallback(look);
};
video.addEventListener('ended', () => { over = true; setTimeout(() => done(true), 300); }, { once: true });
video.currentTime = 0;
video.playbackRate = 1;
video.requestVideoFrameCallback(look);
video.play();
"""


def step_ins(length):
    """One keeps a beat of a second with the odd step between; the other follows by 0.4 s."""
    chance = random.Random(5)
    first, at = [], 0.6
    while at < length - 0.8:
        first.append(round(at, 3))
        at += 1.0 + chance.uniform(-0.04, 0.04)
    return first, [round(each + 0.4 + chance.uniform(-0.03, 0.03), 3) for each in first]


def asked(phone, taps):
    """The desk's answers once they are to all of these taps: the page says of how many each is."""
    of = [len(taps["a"]), len(taps["b"])]
    whose = ["deskAnswer"] + (["deskLeads"] if of[1] else [])
    for name in whose:
        if not phone.until("return JSON.stringify(window[arguments[0]]?.of) === JSON.stringify(arguments[1])", 20, name, of):
            raise RuntimeError(f"no answer to {of} taps: {phone.js('return JSON.stringify(window[arguments[0]]?.of ?? null)', name)}")
    return json.loads(phone.js("return JSON.stringify([window.deskAnswer ?? null, window.deskLeads ?? null])"))


def main():
    program, _, pictures, axe_file = sys.argv[1:5]
    told = Told()
    axe = Axe(axe_file, told)
    room = Room(program)
    port = free_port()
    server = Lines([program, "desk", "--port", str(port), "--store", str(room.store)], room.environment)
    laptop = None
    try:
        found, _ = server.find(r"good once, for ten minutes: (\d{3}) (\d{3})")
        laptop = Phone("desk", f"http://127.0.0.1:{port}")
        laptop.pair(found.group(1) + found.group(2))
        # A page that comes later than it is left for another would take that one's place.
        told.check(laptop.until("return document.body?.dataset.commands === 'yes'", 30), "the laptop is paired")
        laptop.go("/video")
        laptop.until("return document.getElementById('file')", 10)
        length = 26.0
        first, other = step_ins(length)
        file = room.folder / "sparring.webm"
        file.write_bytes(base64.b64decode(laptop.later(RECORD, first, other, length)))
        told.check(file.stat().st_size > 10000, "a video of our own is recorded", f"{file.stat().st_size} bytes, {len(first)} step-ins each")
        laptop.one("#file").send_keys(str(file))
        told.check(laptop.until("return document.getElementById('video').readyState >= 2", 10), "the page plays it")
        sent = laptop.js("return performance.getEntriesByType('resource').filter((each) => each.name.startsWith('http') && each.transferSize + each.encodedBodySize > 60000).length")
        told.check(sent == 0, "nothing of it is sent")
        laptop.later(TAP, True)
        taps = laptop.js("return window.deskTaps.a")
        # The recorder's zero is not the drawing's: what counts is that each was seen, and when beside the others.
        off = [(tap - taps[0]) - (each - first[0]) for tap, each in zip(taps, first)]
        told.check(len(taps) == len(first) and max(map(abs, off)) < 0.2, "each step-in is tapped once, when it is seen", f"{len(taps)} of {len(first)}, {max(map(abs, off)):.3f} s off at most")
        answer, _ = asked(laptop, {"a": taps, "b": []})
        times = room.folder / "a.csv"
        times.write_text("time_s\n" + "".join(f"{each:.4f}\n" for each in taps))
        said = json.loads(room.run("timeable", "--json", str(times)))
        for each in (said, answer.get("json") or {}):
            each.pop("file", None)
        # A wealth of 1e17 and more is a whole number to the browser, and comes back with the digits that it needs.
        alike = lambda one, other: one == other or (isinstance(one, (int, float)) and isinstance(other, (int, float)) and float(one) == float(other))
        shown = answer.get("json") or {}
        differs = {key: (shown.get(key), said.get(key)) for key in {*shown, *said} if not alike(shown.get(key), said.get(key))}
        told.check(not differs, "the answer is `timeable`'s on the same times", f"{said.get('hits')} of {said.get('scored')} caught {differs or ''}")
        words = room.run("timeable", str(times))
        told.check(answer.get("words", "").split() == words.split(), "in the same words", laptop.text("#answer-word"))
        laptop.click("input[name=whose][value=b]")
        laptop.js("document.activeElement.blur()")
        laptop.later(TAP, False)
        both = laptop.js("return window.deskTaps")
        told.check(len(both["a"]) == len(taps) and len(both["b"]) == len(other), "and each of the other one's", f"{len(both['b'])} of {len(other)}")
        _, leads = asked(laptop, both)
        rows = sorted([(each, "a") for each in both["a"]] + [(each, "b") for each in both["b"]])
        times.write_text("time_s,who\n" + "".join(f"{each:.4f},{who}\n" for each, who in rows))
        said = json.loads(room.run("leads", "--json", str(times)))
        told.check((leads or {}).get("json") == said, "who leads is `leads`' on the same times", re.sub(r"\s+", " ", laptop.text("#leads-words"))[:100])
        kept = keeps(laptop, told, both, room)
        laptop.one("#file").send_keys(str(file))
        told.check(laptop.until("return document.getElementById('video').readyState >= 2", 10), "beside the video again")
        spread = laptop.until("const at = [...document.querySelectorAll('#bars .a')].map((each) => Number(each.getAttribute('x'))); return at.length > 1 && at.at(-1) - at[0] > 500 && at.length", 5)
        told.check(spread == len(both["a"]), "as bars, each where it was tapped, though the recording has not said yet how long it is", spread)
        laptop.js("window.scrollTo(0, 0); document.getElementById('video').currentTime = arguments[0]", first[9] + 0.1)
        time.sleep(0.5)
        for theme, ending in (("light", "-bright"), ("dark", "")):
            laptop.theme(theme)
            time.sleep(0.3)
            laptop.picture(pictures, "desk-video" + ending)
        by_keyboard(laptop, told)
        for size in ("desk", "phone"):
            for theme in ("dark", "light"):
                laptop.size(size)
                laptop.theme(theme)
                axe.check(laptop, f"a tapped video, {size}, {theme}")
        room.run("athletes", "erase", "Heron", "--yes", "--store", str(room.store))
        told.check(kept and not kept[0].exists(), "erasing the athlete erases the times that were kept")
        complaints = laptop.complaints()
        told.check(not complaints, "the browser complains of nothing", "; ".join(complaints[:3]))
    except Exception as problem:
        told.check(False, "the video was played to its end", f"{type(problem).__name__}: {problem}")
    finally:
        if laptop:
            laptop.close()
        server.kill()
        room.remove()
    sys.exit(told.end())


def keeps(laptop, told, taps, room):
    """The times are kept with an athlete, listed on the athlete's page, and put beside a video again. The files they stand in."""
    laptop.click("#keep-of")
    told.check("Choose" in laptop.until("return document.getElementById('kept').textContent", 5), "whose they are is asked first", laptop.text("#kept"))
    laptop.js("const of = document.getElementById('of'); of.value = [...of.options].find((each) => each.textContent === 'Heron').value")
    laptop.click("#keep-of")
    told.check(laptop.until("return document.getElementById('kept').textContent.startsWith('kept')", 10), "the times are kept with an athlete", laptop.text("#kept"))
    files = list(pathlib.Path(f"{room.store}.desk").glob("taps-*.csv"))
    told.check(len(files) == 1 and len(files[0].read_text().splitlines()) == 1 + len(taps["a"]) + len(taps["b"]), "as times alone, in a file of the athlete's own", files and f"{files[0].stat().st_size} bytes")
    laptop.go("/athletes")
    laptop.js("[...document.querySelectorAll('th a')].find((each) => each.textContent === 'Heron').click()")
    told.check(laptop.until("return document.querySelector('h3')?.textContent.includes('step-ins')", 10), "the athlete's page lists them, with what they say", laptop.text("h3"))
    laptop.js("[...document.querySelectorAll('main a')].find((each) => each.textContent === 'the taps again').click()")
    again = laptop.until("return window.deskAnswer && window.deskTaps.a.length && window.deskTaps", 10)
    told.check(again == taps, "and they come back as they were", again and f"{len(again['a'])} and {len(again['b'])}")
    return files


def by_keyboard(laptop, told):
    """Space taps, and every button is pressed by the keyboard alone."""
    count = "return window.deskTaps.a.length + window.deskTaps.b.length"
    names, missed, unseen = tabbed(laptop)
    told.check(not missed and not unseen, "the keyboard reaches all of the page", f"{len(names)} places {missed}{unseen}")
    before = laptop.js(count)
    tab_to(laptop, "#undo")
    laptop.keys(Keys.ENTER)
    told.check(laptop.js(count) == before - 1, "Undo by keyboard")
    tab_to(laptop, "#clear")
    laptop.keys(Keys.ENTER)
    told.check(laptop.js(count) == 0, "Begin anew by keyboard")
    tab_to(laptop, "#half")
    laptop.keys(Keys.ENTER)
    told.check(laptop.js("return document.getElementById('video').playbackRate") == 0.5, "Half speed by keyboard")
    laptop.js("document.getElementById('video').currentTime = 2")
    tab_to(laptop, "#play")
    laptop.keys(Keys.ENTER)
    laptop.until("return !document.getElementById('video').paused", 5)
    tab_to(laptop, "#tap")
    for _ in range(4):
        laptop.keys(Keys.SPACE)
        time.sleep(0.5)
    told.check(laptop.js(count) == 4, "each space is one tap", laptop.js(count))
    taps = laptop.js("return [...window.deskTaps.a, ...window.deskTaps.b]")
    told.check(all(each >= 2 for each in taps), "at the moment that is shown", taps)
    tab_to(laptop, "#play")
    laptop.keys(Keys.ENTER)
    at = laptop.until("return document.getElementById('video').paused && document.getElementById('video').currentTime", 5)
    tab_to(laptop, "#frame")
    laptop.keys(Keys.ENTER)
    time.sleep(0.3)
    told.check(abs(laptop.js("return document.getElementById('video').currentTime") - at - 1 / 30) < 0.002, "a frame on by keyboard")


if __name__ == "__main__":
    main()
