"""The words between two numbers that are said to be equal: that's, which works out to, in metric, i.e., or just under.

The words are read from left to right with one table of phrases. A word that is not in it means that the two numbers are unrelated, unless
it only names what the first number measures: 5 L of fluid came out, which is 5.3 qt.
"""

from __future__ import annotations

import re
from functools import lru_cache

SAID, IS, OR, LIST, CELL, TOLD, NEXT, WORDS, INSIDE, SUM = "", "is", "or", "list", "cell", "told", "next", "words", "inside", "sum"
"""How two numbers are joined: said to be equal; by `is`; by `or`; side by side in a list or in speech; in two cells of a table; by words
that mean equal if nothing follows the second; loosely by the next sentence; with a few words between; with words after the second inside
its brackets; as a term of a sum."""

OPENING = "([{"
_SPACES = " \t\u00a0\u2007\u2009\u202f"

METRIC = r"(?:metric|imperial|si|us|u\.s\.|american|english|european|british|freedom|sae)"
UNIT = (
    r"(?:us |imperial )?(?:quarts?|lit(?:er|re)s?|gallons?|pints?|fahrenheit|celsius|centigrade|newton[ -]?met(?:er|re)s?|foot[ -]pounds?|"
    r"inch[ -]pounds?|pound[ -]feet|lbf?[ ·-]ft|lbf?[ ·-]in|in[ -]lbs?|n·m|°?[cf]|l|kg|lbs?|km|mi|mm|cm|fl\.? ?oz|cc|"
    r"miles|kilomet(?:er|re)s|inches|millimet(?:er|re)s|centimet(?:er|re)s|feet|met(?:er|re)s|psi|bar|kpa|"
    r"pounds|kilos|kilograms|millilit(?:er|re)s|ounces|ml|qts?|ft[ -]lbs?|nm)"
)
_PEOPLE = (
    r"(?:folks?|people|guys|friends|viewers|users|crowd|world|side|readers|ones|americans|canadians|europeans|brits|others|everyone else|"
    r"everybody else|overseas|abroad|across the pond|over there|down under|(?:in|from) (?:europe|the us|the states|america|canada|the uk)|"
    r"metric|on imperial|using imperial|in the rest of the world)"
)
_AUDIENCE = rf"{_PEOPLE}(?: {_PEOPLE})?"
_SYSTEM = (
    rf"(?:(?:in|to|into|as|on) )?(?:the )?(?:{METRIC}|old|new|real|your|proper|sane|other) (?:terms|units?|measures?|money|speak|system|"
    rf"scale|"
    rf"side|numbers?|language|readings?)|(?:(?:in|to|into) )?{METRIC}|in {UNIT}(?: or {UNIT})?(?: terms)?|"
    rf"(?:for|to) (?:you|those|the|all|our|my|any|anyone|us|everyone|everybody|people|folks|viewers)(?: [a-z-]+){{0,4}}? {_AUDIENCE}|"
    rf"for (?:everyone|everybody) else|for {METRIC} {_AUDIENCE}|for anyone metric|to you and me|"
    rf"if (?:you|you're|your|you are|you'd|anyone)(?: [a-z-]+){{0,3}}? (?:{METRIC}|{UNIT}|prefer|like|states|europe|canada)"
)
_MODAL = r"(?:'ll|'d|ll|d| will| would| should| might| must| may| could)"
_CONVERTS = (
    r"(?:converts?|converted|translates?|equates?|corresponds?|amounts?|adds? up|boils? down|rounds?|rounded)(?: up| down| off)?"
    r"(?: (?:to|into|as|at))?(?: be)?|(?:comes?|came|works?|worked|turns?|turned|figures?)(?: out| down)? (?:to|at|as|into)(?: be)?"
)
_EQUALS = r"equals?(?: to)?|is equal to|equal to|(?:is )?(?:the )?equivalent (?:of|to)|(?:is |are )?(?:the )?same(?: thing| amount)? as"
_VERB = (
    rf"(?:{_MODAL} be(?: (?:equal|equivalent) to)?|'?s|'re| is| are| was| were|{_MODAL}? (?:{_EQUALS}|{_CONVERTS}|makes?|means?|"
    r"gives?(?: you| us)?|reads?(?: as)?|happens? to be))"
)
_SAYING = (
    r"i\. ?e\.?|ie\.?|a\.k\.a\.?|aka\.?|a/k/a|viz\.?|namely|meaning|in other words|that is to say|(?:also|better|otherwise) known as|"
    r"or rather|reads? as|read|giving(?: you| us)?|making (?:it|that)|making|makes|totall?ing|amounting to|"
    r"(?:(?:let's|lets|let us|we'll|we will|i'll|i will|you can|just) )?call (?:it|that)|"
    r"(?:let's|lets|let us|we'll|i'd|i'll|i would|we can) (?:just )?say|(?:or )?(?:more )?precisely|to be (?:exact|precise)|"
    rf"{_EQUALS}|(?:is |are )?(?:{_CONVERTS})"
)
_PLAN = (
    r"(?:i'd |i would |you can |you'd |you could |you should |just |let's )?(?:figure|plan|count|reckon|bank)(?: on| for)?|"
    r"(?:you're|you are|we're|we are|your)(?: looking at| talking(?: about)?)|"
    r"(?:and|so) (?:i'd|you'd|you|we) (?:want|need|buy|get)"
)
_A_LITTLE = (
    r"(?:(?:a )?(?:just|bit|little|little bit|hair|touch|shade|tad|smidge|fraction|whisker|slightly|somewhat|barely|well|very slightly)|a)"
)
_OVER = rf"{_A_LITTLE} (?:over|above|more than|north of|past)"
_UNDER = rf"{_A_LITTLE} (?:under|below|shy of|short of|less than|south of)|not quite|nearly|almost|close to"
_HEDGE = (
    rf"{_OVER}|{_UNDER}|about|approximately|approx\.?|roughly|around|ca\.?|c\.|circa|some|exactly|say|maybe|basically|pretty much|"
    r"more or less|give or take|near(?:ly)? enough|as near as makes no difference|probably|somewhere around|in the (?:region|"
    r"neighbou?rhood) of|"
    r"just|only|~|∼"
)
_NOUN = (
    r"(?:an? |the )?(?:drop|rise|fall|difference|change|increase|decrease|gain|margin|total|temperature|torque|capacity|setting|"
    r"spec) (?:of|by)|"
    r"an? (?:whopping|mere|full|good|solid)"
)
_QUALIFIER = (
    r"hot|cold|warm|low|high|short|each|total|in total|altogether|all in|all told|max\.?|min\.?|maximum|minimum|dry|wet|nominal|"
    r"or so|or less|or more|"
    r"tops|even|flat|on it|on the clock|worth|apiece|on a drain|per [a-z]+|out of (?:it|her|him|them|mine|this one|that one)"
)
_PHRASES = (
    ("stop", r"\.{1,3}|[!?…]+"),
    ("sign", r"(?:[·*] )?(?:<?[=-]+>|=~|~=|[=≈≅≙≡⇔⇒→⟶➔➜➡👉↔⟹]+)|/"),
    ("mark", r"--|[,;:–-]"),
    ("qualifier", _QUALIFIER),
    ("saying", _SAYING),
    ("that", rf"(?:(?:all (?:of )?)?that|which){_VERB}|(?:it|this|these|those|they){_MODAL}? (?:{_EQUALS}|{_CONVERTS})|which"),
    ("it", rf"(?:it|this|these|those|they){_VERB}"),
    ("plan", _PLAN),
    ("system", _SYSTEM),
    ("is", r"is|are|was|being|gives|holds|takes"),
    ("noun", _NOUN),
    ("hedge", _HEDGE),
    ("article", r"an?|the"),
    ("so", r"so"),
    ("or", r"or"),
    (
        "filler",
        r"uh|um|er|erm|hmm|like|you know|y'know|i mean|actually|really|literally|well|ok|okay|right|yes|yeah|yep|alright|i think|"
        r"i guess|if you like|here",
    ),
    ("joining", r"and then|and|then|but|also|again|now|there"),
    ("between", r"between|from"),
)
_SIGNS = ("stop", "sign", "mark")
_WHOLE = r"(?![a-z0-9'])"
_PHRASE = re.compile(" *(?:" + "|".join([f"(?P<{name}>(?:{of}){'' if name in _SIGNS else _WHOLE})" for name, of in _PHRASES]) + ")")
_WORD = re.compile(" *([a-z][a-z'-]*)")
_OWN_BRACKET = re.compile(rf"\s*\((?:{_QUALIFIER}|us|imperial)\)")
_GOODS = {
    "of", "came", "comes", "went", "goes", "drained", "poured", "worth", "needed", "altogether", "dripped", "more",
    "apart", "long", "wide", "deep", "thick", "tall", "across",
}  # fmt: skip
"""First words of phrases that only say what the first number measures, or what happened to it."""
_MOST_GOODS = 6
_MOST_WORDS = 3
_SEPARATING = {
    "and", "or", "plus", "minus", "not", "when", "if", "but", "then", "than", "per", "from", "to", "at", "until", "after", "before",
    "with", "without", "instead", "vs", "versus", "over", "under", "short", "into", "while", "because", "since", "every", "another", "i",
    "you", "he", "she", "we", "they", "it", "mine", "his", "her", "its",
}  # fmt: skip
_HARMLESS = (
    r"(?:or so|or thereabouts|give or take|approx\.?|approximately|roughly|ish|exactly|about|more or less|if you prefer|if you like|"
    rf"in my case|on my gauge|on the gauge|nominal|dry fill|dry|hot|cold|each|max\.?|min\.?|maximum|total|in total|all in|US|{_QUALIFIER}|"
    rf"{_SYSTEM})(?![a-z0-9'])"
)
_CLOSED = re.compile(rf"(?:[ .,–-]{{0,3}}(?:{_HARMLESS}))*[ .!?~]*(?:$|[)\]}},;/=\n]|or |and |that)", re.IGNORECASE)
_ENDED = re.compile(rf"(?:[ ,–-]{{0,3}}(?:{_HARMLESS}))*[ ]*(?:$|\.(?![0-9])|[!?…,;:)\]}}\n|/–]|-(?![0-9])|and |so |but )", re.IGNORECASE)
_CONVERTED = re.compile(rf"[ ,–-]{{0,3}}(?:{_SYSTEM}){_WHOLE}", re.IGNORECASE)
_BEHIND = 64
"""How many characters after a number are searched for anything else said about it."""
_CONTINUES = re.compile(rf"(?:(?:us|u\.s\.|imperial|uk) ?)?(?:or|and|[,;/=≈](?:[ ,]*(?:or|and|/))?)(?:\s*(?:{_HEDGE}))*")
_CELL = re.compile(rf"(?:\||\.{{4,}})[ |.]*(?:(?:{_HEDGE})\s*)*")
_LEANS = re.compile(rf"(?:(?P<over>{_OVER})|(?P<under>{_UNDER}))[ ~]*$")


@lru_cache(maxsize=4096)
def joint_of(between: str) -> str | None:
    """How two neighbours are joined by the words between them; None if they are not."""
    lines = between.count("\n")
    words = " ".join(between.lower().replace("±", " ").split())
    if not words:
        return CELL if "\t" in between else None if lines > 1 or not between else LIST
    words = _OWN_BRACKET.sub("", words, 1).lstrip()
    if _CELL.fullmatch(words):
        return None if lines else CELL
    opening = min([i for i in map(words.find, OPENING) if i >= 0], default=-1)
    if opening >= 0:
        return _bracketed(words[:opening].strip(_SPACES + "|"), words[opening + 1 :].strip())
    read = _read(words)
    return None if read is None else _said(*read, lines)


def closes(text: str, end: int) -> bool:
    """Whether the bracket around a number closes, or its list goes on, with nothing but harmless words after the number."""
    return _CLOSED.match(text[end : end + _BEHIND]) is not None


def ends(text: str, end: int) -> bool:
    """Whether nothing more is said about a number in its part of the sentence; "5.3 qt is what I got" says more."""
    return _ENDED.match(text[end : end + _BEHIND]) is not None


def converted(text: str, end: int) -> bool:
    """Whether the words after a number say that it is a conversion: 6.4 qt for the Americans."""
    return _CONVERTED.match(text[end : end + _BEHIND]) is not None


def continues(between: str) -> bool:
    """Whether a list of the same quantity in further units goes on: 34 N·m, 25 lbf·ft or about 3.5 kgf·m."""
    bare = between.strip(_SPACES).lower()
    if bare[:1] == ")" and bare[1:].lstrip(_SPACES)[:1] in ("=", "≈", "/"):
        bare = bare[1:].lstrip(_SPACES)
    return bool(bare) and _CONTINUES.fullmatch(bare) is not None


def leaning(between: str) -> int:
    """Which way the second number is said to be rounded: down (1: just over 5 qt), up (-1: not quite 5 qt), or neither (0)."""
    match = _LEANS.search(between.lower())
    return 0 if match is None else 1 if match["over"] else -1


def _read(words: str) -> tuple[list[str], list[str]] | None:
    """The words that name what the first number measures, and the kinds of the phrases after them; None if there is any other word."""
    lead: list[str] = []
    kinds: list[str] = []
    at = 0
    while at < len(words):
        phrase = _PHRASE.match(words, at)
        if phrase is not None and not (lead and not kinds and phrase.lastgroup in ("noun", "article", "qualifier")):
            kinds.append(str(phrase.lastgroup))
            at = phrase.end()
            continue
        word = _WORD.match(words, at)
        early = all(kind == "qualifier" for kind in kinds)
        if word is None or not early or len(lead) == _MOST_GOODS or word[1] in _SEPARATING:
            return None
        lead.append(word[1])
        at = word.end()
    return lead, kinds


def _said(lead: list[str], kinds: list[str], lines: int) -> str | None:
    """How two numbers without brackets are joined, by the kinds of phrases between them."""
    had = set(kinds)
    apart = "stop" in had or lines > 1
    goods = not lead or lead[0] in _GOODS
    if "sign" in had:
        plain = not had & {"joining", "plan", "it"}
        return SAID if not lead and plain else WORDS if goods or (plain and len(lead) <= _MOST_WORDS) else None
    if had & {"that", "saying", "system"}:
        return TOLD if apart or lead else SAID
    if "it" in had:
        return NEXT if apart or lead else SAID
    if "plan" in had:
        return NEXT if apart or lead or lines else IS
    if had & {"joining", "between"} or ("article" in had and not had & {"so", "or", "mark"}):
        return None
    if {"so", "hedge"} <= had and lead and apart:
        return NEXT
    if "hedge" in had:
        return (WORDS if goods else None) if lead else NEXT if apart or lines else TOLD
    if had & {"is", "so"}:
        return (IS if goods and "so" in had else WORDS) if lead else NEXT if apart else None if lines else IS
    if "or" in had:
        return (WORDS if goods and "mark" in had else None) if lead else NEXT if apart or lines else SAID if "mark" in had else OR
    if lead:
        return NEXT if goods and len(lead) > 1 and "mark" in had and not lines else None
    return None if lines > 1 or had & {"noun", "article"} or (apart and had - {"stop", "qualifier"}) else LIST


def _bracketed(head: str, tail: str) -> str | None:
    """How two numbers are joined if the second is in brackets."""
    if any(c in tail for c in OPENING + ")]}"):
        return None
    inner, outer = _read(tail), _read(head)
    if inner is None or inner[0] or outer is None or set(inner[1]) & {"plan", "article"}:
        return None
    lead, kinds = outer
    if lead and lead[0] not in _GOODS:
        return WORDS if len(lead) <= _MOST_WORDS and not set(kinds) - {"qualifier"} else None
    return SAID if not set(kinds) & {"joining", "or", "is", "so", "noun", "article", "between"} else None
