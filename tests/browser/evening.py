"""evening.py PROGRAM RIG PICTURES AXE: an evening with a partner on the simulated rig, before a phone and a laptop."""
import sys
import time

from selenium.webdriver.common.keys import Keys

from accessible import Axe, tab_to, tabbed
from floor import Floor
from hall import Evening, Network, Rig, Room, Told, figures, free_port
from phone import WATCH_REPS, Phone

REPS = "return [...window.deskState.reps.keys()]"
AT_ONCE_MS = 250


def closed_keys(phone):
    return phone.js("return [...window.deskState.reps].filter(([, rep]) => !rep.first).map(([key]) => key)")


def rows_of(phone):
    return phone.js("return [...window.deskState.reps.values()].map((rep) => [rep.session, rep.rep, rep.verdict, rep.n])")


class Night(Floor):
    def __init__(self, program, rig_program, pictures, axe):
        self.told = Told()
        self.pictures = pictures
        self.axe = Axe(axe, self.told)
        self.room = Room(program)
        self.rig = Rig(rig_program, 11)
        self.port = free_port()
        self.network = Network(self.port)
        self.evening = Evening(self.room, self.rig, self.port)
        self.phone = self.laptop = None

    def close(self):
        for each in (self.phone, self.laptop):
            if each:
                each.close()
        self.evening.kill()
        self.rig.kill()
        self.network.close()
        self.room.remove()

    # ---- pairing ----

    def pairs(self):
        told, digits = self.told, self.evening.digits(ask=False)
        phone = self.phone = Phone("phone", f"http://localhost:{self.port}", through_network=True)
        phone.go("/athletes")
        told.check(phone.driver.current_url.endswith("/pair") and "Heron" not in phone.driver.page_source, "before pairing every page is the pairing page, and names nobody")
        self.axe.check(phone, "the pairing page of a phone")
        names, missed, unseen = tabbed(phone)
        told.check(names and not missed and not unseen, "the keyboard reaches all of the pairing page, and is seen there", f"{len(names)} places {missed}{unseen}")
        phone.picture(self.pictures, "desk-pair-phone")
        phone.pair("000 000" if digits != "000000" else "111 111")
        told.check(phone.until("return (document.querySelector('[role=alert]')?.textContent ?? '').includes('Those are not the digits')"), "wrong digits are said to be wrong")
        phone.pair(digits)
        told.check(phone.until("return document.body.dataset.commands") == "yes", "the right digits pair the phone, and it commands")
        laptop = self.laptop = Phone("desk", f"http://127.0.0.1:{self.port}")
        laptop.pair(digits)
        told.check("No digits are good now" in laptop.text("[role=alert]"), "digits that were used pair nobody again")
        phone.go("/phones")
        phone.click("#more-digits")
        laptop.pair(phone.until("return document.querySelector('.digits')?.textContent.trim() !== arguments[0] && document.querySelector('.digits')?.textContent.replace(' ', '')", 10, digits[:3] + " " + digits[3:]))
        told.check(laptop.until("return document.body.dataset.commands") == "no", "the second one watches")
        phone.go("/")

    # ---- reps ----

    def sees_reps(self, wanted=8):
        told, phone = self.told, self.phone
        phone.js(WATCH_REPS)
        known = set(phone.js("return Object.keys(window.repsShown)"))
        end = time.monotonic() + 150
        while time.monotonic() < end and len(self.waits(known)) < wanted:
            time.sleep(0.2)
        waits = self.waits(known)
        told.check(len(waits) >= wanted, "struck reps of a real leg come to the phone", len(waits))
        if waits:
            took = figures(waits)
            told.check(took.median <= AT_ONCE_MS, f"a rep's word is on the screen within {AT_ONCE_MS} ms of the contact", f"median {took.median:.0f}, {took.least:.0f} to {took.most:.0f} ms, {took.count} reps")
        names = phone.js("return [...window.deskState.reps.values()].map((rep) => rep.verdict)")
        told.check(any(each in ("on time", "early", "late") for each in names), "they are judged", ", ".join(sorted(set(names))))
        told.check(phone.js("return window.deskState.counts.length") == 0, "each came once and in order")

    def waits(self, known):
        """From the last contact before a rep was first shown; a rep without one, or one of long ago, was not struck."""
        shown = self.phone.js("return window.repsShown")
        all_of_them = []
        for key, (at, _) in shown.items():
            before = [each for each in list(self.rig.contacts) if each <= at]
            if key not in known and before and at - before[-1] < 2000:
                all_of_them.append(at - before[-1])
        return all_of_them

    def voids(self):
        told, phone = self.told, self.phone
        before = phone.js("return [...window.deskState.reps.values()].filter((rep) => rep.by_coach).length")
        # Over a first word, which may change yet, the button waits for the close.
        phone.until("return !document.getElementById('void').disabled", 10)
        phone.click("#void")
        told.check(phone.until("return document.getElementById('answer').textContent === 'taken'"), "\"Void last\" is taken", phone.text("#answer"))
        told.check(phone.until("return [...window.deskState.reps.values()].filter((rep) => rep.by_coach).length > arguments[0]", 10, before), "a rep is void by the coach")
        told.check(phone.until("return document.querySelector('#reps li[data-verdict=void]') !== null", 10), "and stands so in the list")
        both = self.laptop.until("return [...window.deskState.reps.values()].some((rep) => rep.by_coach)", 10)
        told.check(both, "the laptop sees it too")

    def loses_the_network(self):
        told, phone = self.told, self.phone
        phone.js("window.notLoaded = true")
        before = len(closed_keys(phone))
        self.network.cut()
        told.check(phone.until("return document.getElementById('live-words').textContent.includes('not connected')", 15), "a phone that lost the network says so")
        told.check(self.laptop.until("return window.deskState.reps.size > arguments[0] + 2", 90, before), "the evening goes on without it")
        self.network.mend()
        told.check(phone.until("return document.getElementById('live').classList.contains('on')", 15), "and it comes back by itself")
        self.alike("what it missed it has, once and in order")
        told.check(phone.js("return window.notLoaded === true"), "without being loaded again")

    def alike(self, words):
        same = False
        end = time.monotonic() + 15
        while not same and time.monotonic() < end:
            same = rows_of(self.phone) == rows_of(self.laptop)
        reps = rows_of(self.phone)
        order = self.phone.js("return window.deskState.counts.length") == 0 and len({(each[0], each[1]) for each in reps}) == len(reps)
        self.told.check(same and order and reps, words, f"{len(reps)} reps")

    # ---- killed ----

    def is_killed(self):
        told, phone = self.told, self.phone
        phone.until("return document.getElementById('who').textContent !== 'Nobody'", 60)
        before, run = set(closed_keys(phone)), phone.js("return window.deskState.run")
        words = phone.js("return [...window.deskState.reps].map(([key, rep]) => [key, rep.word])")
        task = phone.text("#task")
        self.evening.kill()
        told.check(phone.until("return document.getElementById('live-words').textContent.includes('not connected')", 15), "the program is killed, and the phone says that it is alone")
        self.evening = Evening(self.room, self.rig, self.port)
        told.check(phone.until("return window.deskState.run !== arguments[0] && document.getElementById('live').classList.contains('on')", 40, run), "started again, the phones come back by themselves")
        told.check(phone.js("return window.notLoaded === true && document.body.dataset.commands === 'yes'"), "paired still, and in command, without being loaded again")
        again = phone.until("return arguments[0].every((key) => window.deskState.reps.has(key)) && window.deskState.reps.size", 20, list(before))
        told.check(again, "every rep of before is there", f"{len(before)} before, {again} now")
        now = dict(phone.js("return [...window.deskState.reps].map(([key, rep]) => [key, rep.word])"))
        told.check(all(now.get(key) == word for key, word in words if key in before), "with the words that they had")
        told.check(phone.js("return window.deskState.counts.length") == 0, "none of them twice, in order")
        phone.click("[data-ask=note]")
        phone.one("#type-text").send_keys("after the cut")
        phone.click("#type-form button.main")
        told.check(phone.until("return document.getElementById('answer').textContent", 10) == "taken", "and its requests are taken", phone.text("#answer"))
        more = phone.until("return window.deskState.reps.size > arguments[0] && window.deskState.reps.size", 120, again)
        told.check(more, "the evening goes on at the right number", f"{task or 'between turns'}; then {phone.text('#task')}, rep {phone.js('return [...window.deskState.reps.values()].at(-1).number')}; {more} reps")
        self.alike("phone and laptop have the same after it")

    # ---- what is typed ----

    def takes_markup_as_words(self):
        told, phone = self.told, self.phone
        evil = "<img src=x onerror=\"document.title='taken over'\"><script>document.title='taken over'</script>"
        phone.click("[data-ask=note]")
        phone.one("#type-text").send_keys(evil)
        phone.click("#type-form button.main")
        phone.until("return document.getElementById('answer').textContent", 10)
        phone.one("#comes-name").send_keys("<b onclick=x>Rail</b>")
        phone.click("#comes button")
        asked = phone.until("return document.getElementById('sure').open && document.getElementById('sure-title').textContent", 10)
        told.check(asked and "<b onclick=x>Rail</b>" in asked, "markup in a name is asked about as it was typed", asked)
        phone.click("#sure button[value='']")
        clean = phone.js("return document.querySelector('main img, main script, main b[onclick]') === null && document.title.startsWith('The evening')")
        told.check(clean, "and nothing of it becomes a part of the page")

    def taps_a_pattern(self):
        """The next block waits for the coach's taps: each is a kick."""
        told, phone = self.told, self.phone
        phone.click("[data-ask=next]")
        phone.until("return document.getElementById('sure').open", 5)
        phone.click("#sure button[value=yes]")
        told.check(phone.until("return document.getElementById('round').textContent.includes('the coach taps')", 60), "the phone ends a block, and the next one begins", phone.text("#round"))
        told.check(phone.until("return document.getElementById('task').textContent.includes('Tapped')", 60), "somebody is called for it", phone.text("#task"))
        before, taken, end = phone.js("return window.deskState.reps.size"), 0, time.monotonic() + 90
        while taken < 3 and time.monotonic() < end:
            phone.js("document.getElementById('answer').textContent = ''")
            phone.click("[data-ask=tap]")
            taken += phone.until("return document.getElementById('answer').textContent", 5) == "taken"
            time.sleep(0.3)
        told.check(taken == 3, "three taps are taken as attacks", taken)
        told.check(phone.until("return window.deskState.reps.size >= arguments[0] + 2", 30, before), "and reps come of them")

    # ---- keyboard and accessibility ----

    def goes_by_keyboard(self):
        told, laptop = self.told, self.laptop
        laptop.go("/phones")
        told.check(tab_to(laptop, "#take-command"), "the keyboard finds \"Command from this computer\"")
        laptop.keys(Keys.ENTER)
        laptop.until("return document.body.dataset.commands === 'yes'", 10)
        laptop.go("/")
        told.check(laptop.js("return document.body.dataset.commands") == "yes", "and takes command with it")
        laptop.until("return window.deskState?.view", 10)
        names, missed, unseen = tabbed(laptop)
        told.check(len(names) > 15 and not missed and not unseen, "Tab reaches everything on the evening's page, and is seen there", f"{len(names)} places {missed}{unseen}")
        said = "return document.getElementById('answer').textContent"
        for selector, after in (("#pause", "Go on"), ("#pause", "Pause")):
            laptop.js("document.getElementById('answer').textContent = ''")
            tab_to(laptop, selector)
            laptop.keys(Keys.ENTER)
            laptop.until(said, 5)
            told.check(laptop.until("return document.getElementById('pause').textContent === arguments[0]", 10, after), f"Enter on pause, and it reads \"{after}\"", laptop.text("#answer"))
        tab_to(laptop, "[data-ask=note]")
        laptop.keys(Keys.ENTER)
        laptop.until("return document.getElementById('type').open", 5)
        laptop.keys("by hand", Keys.ENTER)
        told.check(laptop.until(said, 5) == "taken", "a note by keyboard alone", laptop.text("#answer"))
        tab_to(laptop, "[data-ask=someone_else]")
        laptop.keys(Keys.ENTER)
        laptop.until("return document.getElementById('pick').open", 5)
        laptop.keys(Keys.ESCAPE)
        told.check(laptop.until("return !document.getElementById('pick').open", 5) and laptop.js("return document.activeElement.dataset.ask") == "someone_else", "Escape leaves a question, and the focus is where it was")
        tab_to(laptop, "#reps button")
        laptop.keys(Keys.ENTER)
        told.check(laptop.until("return document.getElementById('replay').open", 5), "a rep is played again by keyboard")
        names, missed, unseen = tabbed(laptop, 30)
        told.check(not missed and not unseen, "all of it", f"{len(names)} places {missed}{unseen}")
        laptop.keys(Keys.ESCAPE)

    def is_for_everybody(self):
        laptop, phone = self.laptop, self.phone
        for path, words in (("/", "the evening"), ("/video", "video"), ("/athletes", "athletes"), ("/drills", "drills"), ("/drill?name=partner", "a drill"),
                            ("/rig", "the rig"), ("/partner", "the partner's screen"), ("/progress", "progress"), ("/sessions", "past sessions"), ("/phones", "phones")):
            laptop.go(path)
            if path == "/":
                laptop.until("return window.deskState?.view && window.deskState.reps.size", 10)
            for theme in ("dark", "light"):
                laptop.theme(theme)
                for size in ("desk", "phone"):
                    laptop.size(size)
                    self.axe.check(laptop, f"{words}, {size}, {theme}")
                    wide = laptop.js("return document.documentElement.scrollWidth - document.documentElement.clientWidth")
                    if theme == "dark":
                        self.told.check(wide <= 0, f"{words} fits a {size}'s width", f"{wide} px over")
                    if theme == "dark" and path not in ("/", "/video") and size == "desk":
                        names, missed, unseen = tabbed(laptop)
                        self.told.check(names and not missed and not unseen, f"the keyboard reaches all of {words}", f"{len(names)} places {missed}{unseen}")
            laptop.theme("dark")
            laptop.size("desk")
        phone.js("document.querySelector('#reps button')?.click()")
        self.told.check(phone.until("return document.getElementById('replay').open", 5), "a rep is played again on the phone")
        self.axe.check(phone, "a rep played again")
        phone.picture(self.pictures, "desk-replay-phone")
        phone.js("document.getElementById('replay').close()")

    def pictures_of_it(self):
        laptop, phone = self.laptop, self.phone
        laptop.go("/")
        laptop.until("return window.deskState?.view?.rig === 'running' && window.deskState.reps.size", 60)
        phone.js("window.scrollTo(0, 0)")
        for theme, ending in (("dark", ""), ("light", "-bright")):
            for each, name in ((phone, "desk-evening-phone"), (laptop, "desk-evening")):
                each.theme(theme)
                time.sleep(0.3)
                each.picture(self.pictures, name + ending)
        phone.theme("dark")
        laptop.theme("dark")

    def run(self):
        self.pairs()
        self.answers_the_terminal()
        self.sees_reps()
        self.lists_for_partner()
        self.sees_signs_and_rig()
        self.asks_another_drill()
        self.voids()
        self.loses_the_network()
        self.is_killed()
        self.pictures_of_it()
        self.takes_markup_as_words()
        self.goes_by_keyboard()
        self.is_for_everybody()
        # The laptop commands now; the phone takes part again by a new pairing there.
        self.phone_commands()
        self.taps_a_pattern()
        said = [each for phone in (self.phone, self.laptop) for each in phone.complaints() if "403" not in each and "ERR_" not in each and "WebSocket" not in each]
        self.told.check(not said, "no browser complained", "; ".join(said[:3]))

    def phone_commands(self):
        """Command goes back to the phone: the laptop is forgotten, the phone takes it at the laptop's own address."""
        self.phone.go("/phones")
        self.phone.click("#take-command")
        self.told.check(self.phone.until("return document.body.dataset.commands === 'yes'", 10), "command passes to a browser of this computer that asks for it")
        self.phone.go("/")
        self.phone.until("return window.deskState?.view", 10)


def main():
    night = Night(*sys.argv[1:5])
    try:
        night.run()
    except Exception as problem:  # a part that can't go on is a failure like any other
        night.told.check(False, "the evening was played to its end", f"{type(problem).__name__}: {problem}")
        print("\n".join(night.evening.lines[-12:]))
    finally:
        night.close()
    sys.exit(night.told.end())


if __name__ == "__main__":
    main()
