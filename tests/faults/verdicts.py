"""One row of the table: what was checked of a fault, and what was found."""

COLUMNS = ("told once", "scored right", "said once")


class Row:
    """Findings by column. Each is true or says in words what is wrong."""

    def __init__(self, name):
        self.name = name
        self.findings = []  # (column, fault in words or "")
        self.remarks = []
        self.seconds = 0.0

    def check(self, column, holds, words):
        self.findings.append((column, "" if holds else words))

    def none(self, column, faults):
        """`faults`: a list of what is wrong, in words."""
        self.check(column, not faults, "; ".join(faults[:3]) + (f" and {len(faults) - 3} more" if len(faults) > 3 else ""))

    def remark(self, words):
        self.remarks.append(words)

    def cell(self, column):
        found = [words for of, words in self.findings if of == column]
        return "-" if not found else "NO" if any(found) else "yes"

    @property
    def faults(self):
        return [f"{column}: {words}" for column, words in self.findings if words]

    @property
    def passed(self):
        return bool(self.findings) and not self.faults


def table(rows):
    width = max(len(row.name) for row in rows)
    lines = [f"{'fault':<{width}}  " + "  ".join(f"{column:<12}" for column in COLUMNS) + "  seconds"]
    for row in rows:
        lines.append(f"{row.name:<{width}}  " + "  ".join(f"{row.cell(column):<12}" for column in COLUMNS)
                     + f"  {row.seconds:7.1f}" + ("  " + ", ".join(row.remarks) if row.remarks else ""))
    for row in rows:
        for fault in row.faults:
            lines.append(f"    {row.name}: {fault}")
    return "\n".join(lines)
