"""What a coach does on the phone beside the reps: answers what is asked before the evening, lists what the partner is
asked next, looks at signs and rig. A part of an evening (evening.py): `told`, `axe`, `phone`, `laptop`, `evening` are its."""
import time

from selenium.webdriver.common.keys import Keys

from accessible import tab_to, tabbed


class Floor:
    # ---- before the evening ----

    def question(self, of, words, who=None):
        return self.told.check((who or self.phone).until("return window.deskQuestion?.open && document.getElementById('question').textContent.includes(arguments[0]) && document.getElementById('question').textContent", 40, of), words, self.phone.text("#question"))

    def answers_the_terminal(self):
        """Everything that the terminal asks is answered on the phone: nothing is ever typed there."""
        told, phone, laptop = self.told, self.phone, self.laptop
        self.question("Who is here", "before the evening the phone asks who is here")
        laptop.until("return window.deskQuestion?.open", 10)
        told.check(laptop.js("return [...document.querySelectorAll('#questions button')].every((each) => each.disabled || each.hidden || each.offsetParent === null)"), "whoever watches can answer nothing")
        self.axe.check(phone, "the roster on a phone")
        names, missed, unseen = tabbed(phone)
        told.check(len(names) > 6 and not missed and not unseen, "the keyboard reaches all of the roster", f"{len(names)} places {missed}{unseen}")
        phone.picture(self.pictures, "desk-before-phone")
        tick = "return document.querySelector('[data-line=\"1\"]')?.getAttribute('aria-checked')"
        tab_to(phone, '[data-line="1"]')
        phone.keys(Keys.ENTER)
        told.check(phone.until(f"return ({tick.replace('return ', '')}) === 'true'", 5), "one is ticked by the keyboard alone", phone.text('[data-line="1"]'))
        phone.click('[data-line="all"]')
        told.check(phone.until("return document.querySelectorAll('[role=checkbox][aria-checked=true]').length === 3", 5), "and everybody by one button")
        phone.click("#question-go")
        self.question("plan", "then the plan stands there, with what fits")
        told.check("athletes" in phone.text("#question-lines") and "min  in all" in phone.text("#question-lines"), "block by block, and the minutes in all")
        self.axe.check(phone, "the plan on a phone")
        phone.picture(self.pictures, "desk-plan-phone")
        phone.click('[data-line="1 "]')
        phone.until("return document.getElementById('pick').open", 5)
        phone.click("#pick button[value='2']")
        self.question("too short", "two minutes are too short, and the phone says what could be done")
        remedies = phone.js("return [...document.querySelectorAll('#question-choices button')].map((each) => each.textContent)")
        told.check(len(remedies) >= 2 and all("the evening" in each for each in remedies), "each remedy with its new total", "; ".join(remedies)[:120])
        phone.click("#question-go")
        self.question("plan", "what does not fit may stay undone")
        for line in ("1 45", "99 5"):
            phone.one("#question-line").send_keys(line)
            phone.click("#question-form button")
            said = "45.0 min" if line == "1 45" else "is not that"
            told.check(phone.until("return document.getElementById('question-lines').textContent.includes(arguments[0])", 5, said), f"\"{line}\" typed there is answered", said)
        phone.click("#question-go")
        told.check(phone.until("return document.getElementById('who') && document.getElementById('live').classList.contains('on')", 30), "Go, and the evening's page comes by itself")
        laptop.until("return document.getElementById('who')", 20)
        told.check(laptop.js("return [...document.querySelectorAll('.command')].every((each) => each.hidden)"), "whoever watches sees no button that commands")

    # ---- the partner ----

    def lists_for_partner(self):
        told, phone, laptop = self.told, self.phone, self.laptop
        told.check(phone.until("return document.querySelectorAll('#kinds button').length >= 3", 60), "what a partner may be asked stands there as large buttons", phone.js("return [...document.querySelectorAll('#kinds button')].map((each) => each.dataset.kind).join(', ')"))
        least = phone.js("return Math.min(...[...document.querySelectorAll('#kinds button')].map((each) => each.getBoundingClientRect().height))")
        told.check(least >= 80, "for a thumb", f"{least:.0f} px high")
        laptop.go("/partner")
        laptop.until("return document.getElementById('live').classList.contains('on')", 10)
        laptop.js("""window.cues = []; new MutationObserver(() => { const cue = document.getElementById('partner-what').textContent; if (cue && cue !== 'wait') window.cues.push(cue); })
            .observe(document.getElementById('partner-what'), { childList: true, characterData: true, subtree: true });""")
        feints = "return [...window.deskState.reps.values()].filter((rep) => rep.asked === 'feint').length"
        before = phone.js(feints)
        phone.until("return window.deskState.view.rig === 'called' || window.deskState.view.rig === 'running'", 60)
        phone.js("document.getElementById('answer').textContent = ''")
        phone.click("#kinds button[data-kind=feint]")
        told.check(phone.until("return document.getElementById('answer').textContent", 5) == "taken", "a feint is asked for by one button", phone.text("#answer"))
        phone.click("#listed")
        for kind in ("nothing", "single"):
            phone.click(f"#kinds button[data-kind={kind}]")
            time.sleep(0.3)
        listed = phone.js("return window.deskState.view.partner_next?.listed ?? []")
        told.check(listed in (["feint", "nothing", "single"], ["nothing", "single"], ["single"], []), "a list is added to, button by button", f"{listed}: {phone.text('#partner-list')}")
        self.axe.check(phone, "the partner's next on a phone")
        phone.js("document.getElementById('partner').scrollIntoView()")
        phone.picture(self.pictures, "desk-partner-phone")
        told.check(phone.until(feints + " > arguments[0]", 60, before), "and the next rep is one that asks it")
        told.check(laptop.until("return window.cues.includes('a feint')", 20), "the partner's own screen said so, large", laptop.js("return window.cues.join(', ')"))
        told.check(phone.until("return window.deskState.view.partner_next?.listed.length === 0", 60), "the list is asked to its end")
        told.check(laptop.until("return document.querySelector('.partner-screen.now')", 60) is not None, "a cue stands out there")
        laptop.picture(self.pictures, "desk-partner-screen")
        self.axe.check(laptop, "the partner's screen")
        stage = [each for each in self.evening.lines if "feint" in each and "At the rig" in each]
        told.check(not stage, "and nothing is told where the athlete hears it")
        phone.click("#planned")
        gone = laptop.until("return document.getElementById('partner-what').textContent === 'wait'", 30)
        again = laptop.until("return document.querySelector('.partner-screen.now')", 60) is not None
        told.check(gone and again, "once the leg moved it is gone, so that the next one is seen to be new")
        laptop.go("/")

    def sees_signs_and_rig(self):
        told, phone = self.told, self.phone
        told.check(phone.until("return !document.getElementById('signs').hidden && document.getElementById('signs').textContent", 60), "whether the athlete can be timed stands there", phone.text("#signs")[:90])
        told.check("pads" in phone.text("#rig-words") and "clock within" in phone.text("#rig-words"), "the rig in a line", phone.text("#rig-words"))
        phone.js("window.scrollTo(0, 0)")
        phone.go("/rig")
        told.check(phone.until("return document.querySelectorAll('#parts tr').length >= 6", 10), "the rig's page has each pad and gate", phone.js("return [...document.querySelectorAll('#parts tr')].map((each) => each.textContent).join('; ')")[:140])
        told.check(phone.until("return [...document.querySelectorAll('#parts td')].some((each) => each.textContent.includes('strikes'))", 10), "with its last strike")
        told.check("never" in phone.driver.page_source, "and says what was never calibrated")
        self.axe.check(phone, "the rig")
        phone.picture(self.pictures, "desk-rig-phone")
        phone.go("/")
        phone.until("return window.deskState?.view", 10)

    def asks_another_drill(self):
        """In a block with one drill for all it is for later, or refused with its reason; never nothing."""
        told, phone = self.told, self.phone
        told.check(phone.until("return document.querySelector('#turns button')", 30), "somebody is next")
        phone.js("document.getElementById('answer').textContent = ''")
        phone.js("document.querySelector('#turns button').click()")
        phone.until("return document.getElementById('pick').open", 5)
        phone.click("#pick button")
        told.check("one drill for all" in (phone.until("return document.getElementById('answer').textContent", 5) or ""), "another drill in a block with one for all is answered with the reason", phone.text("#answer"))
