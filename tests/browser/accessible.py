"""What axe-core finds on a page, and what the keyboard alone reaches."""
import pathlib

from selenium.webdriver.common.keys import Keys

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


class Axe:
    """axe-core, where it could be had."""

    def __init__(self, file, told):
        self.told = told
        self.source = pathlib.Path(file).read_text() if pathlib.Path(file).exists() else None
        if self.source is None:
            told.skip("accessibility by axe-core: it could not be fetched (npm install axe-core)")

    def check(self, phone, words):
        if self.source is None:
            return
        phone.js(self.source + "; return typeof axe")
        found = phone.later("""
            const done = arguments[arguments.length - 1];
            axe.run(document, { runOnly: arguments[0] }).then((result) => done({
              rules: result.passes.length,
              violations: result.violations.map((each) => `${each.id}: ${each.nodes.map((node) => node.target.join(' ')).slice(0, 3).join(', ')}`) }),
              (error) => done({ rules: 0, violations: [String(error)] }));""", RULES)
        self.told.check(not found["violations"] and found["rules"] > 5, f"axe-core finds nothing on {words}", f"{found['rules']} rules, " + ("; ".join(found["violations"]) or "no violation"))


# Whatever can be acted on and is on the screen now, marked by a number.
MARK = """
const scope = document.querySelector('dialog[open]') ?? document;
const all = [...scope.querySelectorAll('a[href], button, input, textarea, select, summary, video[controls], [tabindex="0"]')].filter((each) =>
  !each.disabled && each.getClientRects().length && getComputedStyle(each).visibility !== 'hidden' && !each.classList.contains('jump'));
window.marked = all;
// One of a group of choices stands for all of it: arrows go on from there.
const groups = new Set(all.filter((each) => each.type === 'radio').map((each) => each.name));
window.wanted = all.filter((each) => each.type !== 'radio' || each.checked);
return window.wanted.map((each) => (each.ariaLabel || each.textContent || each.id || each.name || each.tagName).trim().slice(0, 40));
"""


def tabbed(phone, most=120):
    """What Tab reaches from the top of the page, and what it misses."""
    names = phone.js(MARK)
    phone.js("document.activeElement?.blur?.(); window.scrollTo(0, 0); window.reached = new Set();")
    for _ in range(min(most, 2 * len(names) + 20)):
        phone.keys(Keys.TAB)
        left = phone.js("""
            const on = document.activeElement, index = window.wanted.indexOf(on);
            if (index >= 0) window.reached.add(index);
            const shown = on && on !== document.body ? getComputedStyle(on).outlineStyle !== 'none' || on.matches('video') : true;
            if (!shown) (window.unseen ??= new Set()).add(on.outerHTML.slice(0, 80));
            return window.wanted.filter((each, i) => each.isConnected && !window.reached.has(i)).length;""")
        if not left:
            break
    missed = phone.js("return window.wanted.filter((each, i) => each.isConnected && !window.reached.has(i)).map((each) => each.outerHTML.slice(0, 80))")
    unseen = phone.js("return [...(window.unseen ?? [])]")
    return names, missed, unseen


def tab_to(phone, selector, most=120):
    """Tab until this has the focus; False if it never does."""
    phone.js("if (!document.querySelector('dialog[open]')) { document.activeElement?.blur?.(); window.scrollTo(0, 0); }")
    for _ in range(most):
        phone.keys(Keys.TAB)
        if phone.js("return document.activeElement?.matches(arguments[0]) ?? false", selector):
            return True
    return False
