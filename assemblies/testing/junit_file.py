"""A proof as build servers read it: a JUnit file with one test case for each code that a finding can carry."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree import ElementTree

from panelwright.assemblies.data.acceptances import ASKED_FOR
from panelwright.assemblies.data.finding_codes import FINDING_CODES
from panelwright.assemblies.data.findings import Finding, Level
from panelwright.assemblies.data.verdict import at_least, folded

__all__ = ["junit_file"]


def junit_file(name: str, findings: Sequence[Finding], *, level: Level = "error", asked: bool = False) -> bytes:
    """The findings of one product: a case fails if something of its code is found at `level` or graver, the rest is its output.

    `asked` says that fits over real sheet were looked at too; their cases are skipped if not.  Without times and dates, so
    that the same proof is the same file.

    Source of the form: the JUnit schema that the xUnit plugin of the Jenkins project publishes (junit-10.xsd), from memory.

    >>> found = junit_file("tray", [Finding("warning", "WEB", ("rail",), "plate 'rail' has a web of 2 mm")], level="warning")
    >>> b'failures="1"' in found, b'<failure message="plate \\'rail\\' has a web of 2 mm" type="WEB">' in found
    (True, True)
    """
    suite = ElementTree.Element("testsuite", name=name)
    failures = skipped = 0
    for code in FINDING_CODES:
        case = ElementTree.SubElement(suite, "testcase", classname=name, name=code)
        of_code = [finding for finding in findings if finding.code == code]
        failing = at_least(of_code, level)
        if failing:
            failures += 1
            failure = ElementTree.SubElement(case, "failure", message=failing[0].text, type=code)
            failure.text = "\n".join(folded(failing))
        elif code in ASKED_FOR and not asked:
            skipped += 1
            ElementTree.SubElement(case, "skipped", message="looked at with --tolerance")
        rest = [finding for finding in of_code if finding not in failing]
        if rest:
            ElementTree.SubElement(case, "system-out").text = "\n".join(folded(rest))
    counts = {"tests": str(len(FINDING_CODES)), "failures": str(failures), "errors": "0", "skipped": str(skipped)}
    suite.attrib.update(counts)
    suites = ElementTree.Element("testsuites", {"name": "panelwright", **{key: counts[key] for key in ("tests", "failures")}})
    suites.append(suite)
    ElementTree.indent(suites)
    written: bytes = ElementTree.tostring(suites, encoding="utf-8", xml_declaration=True)
    return written + b"\n"
