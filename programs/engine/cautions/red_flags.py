"""Words in notes and messages that a coach must see at once. A hit is a flag, never a diagnosis.

Signs to stop for after position statements on pre-participation screening and on exertional muscle
breakdown (CDC/NIOSH); English and German wording. A word that is denied ("no chest pain") is flagged too,
marked as ``denied``: a person decides.
"""

import re
from dataclasses import dataclass
from typing import Final

EMERGENCY: Final = "emergency"
SAME_DAY: Final = "same_day"
URGENCIES: Final = (EMERGENCY, SAME_DAY)

_MOST_CHARACTERS: Final = 20_000

# code -> urgency and patterns
_FLAGS: Final[dict[str, tuple[str, tuple[str, ...]]]] = {
    "chest": (
        EMERGENCY,
        (
            r"chest (?:pains?|pressure|tightness|discomfort|hurts?|hurting)",
            r"(?:pain|pressure|ache|tight(?:ness)?) (?:in|across|on) (?:my |the )?chest(?! (?:press|fly))",
            r"(?:my )?chest (?:is|was|felt|feels) (?:tight|heavy|painful)",
            r"(?:schmerz\w*|druck|enge|stechen|ziehen) (?:in|auf|über) (?:der |meiner )?brust\b",
            r"brust(?:schmerz\w*|druck|enge|stechen)",
            r"jaw pain",
            r"pain in (?:my |the )?(?:jaw|left arm)",
            r"kieferschmerz\w*",
            r"schmerz\w* im (?:linken arm|kiefer)",
        ),
    ),
    "fainting": (
        EMERGENCY,
        (
            r"(?:nearly |almost )?(?:faint(?:ed|ing)|passed out|pass(?:ing)? out|blacked out|blackout)",
            r"lost consciousness",
            r"collapsed",
            r"ohnmächtig|in ohnmacht|umgekippt|kollabiert|bewusstlos",
            r"schwarz vor (?:den )?augen",
        ),
    ),
    "breath": (
        EMERGENCY,
        (
            r"(?:can ?not|can't|cant|could ?n[o']t|couldnt) breathe",
            r"couldn't get (?:my |any )?(?:breath|air)",
            r"sudden(?:ly)? (?:short(?:ness)? of breath|breathless\w*)",
            r"gasping for air",
            r"(?:keine|kaum) luft (?:mehr )?(?:bekommen|gekriegt|gekommen)",
            r"(?:bekam|kriegte|bekomme) (?:keine|kaum) luft",
            r"plötzliche? atemnot",
            r"atemnot",
        ),
    ),
    "headache": (
        EMERGENCY,
        (
            r"worst headache",
            r"thunderclap headache",
            r"sudden (?:severe |bad |violent )?headache",
            r"plötzliche?r? (?:starker? |heftiger? |schlimmer? )?kopfschmerz\w*",
            r"schlimmste kopfschmerz\w*",
            r"vernichtungskopfschmerz",
        ),
    ),
    "stroke": (
        EMERGENCY,
        (
            r"face (?:is |was )?droop\w*",
            r"droop\w* face",
            r"slurred speech",
            r"slurring",
            r"couldn't (?:speak|find words)",
            r"(?:one|left|right) (?:side|arm) (?:went |is |was )?(?:weak|numb|limp)",
            r"gesicht hängt",
            r"hängender mundwinkel",
            r"mundwinkel hängt",
            r"lallen",
            r"verwaschene sprache",
            r"sprachstörung\w*",
            r"(?:linker|rechter|ein) arm (?:ist |war )?(?:schwach|taub|gelähmt)",
        ),
    ),
    "heartbeat": (
        EMERGENCY,
        (
            r"irregular (?:heart ?beat|pulse)",
            r"heart (?:is |was )?(?:racing|skipping|fluttering)",
            r"palpitations?",
            r"herz(?:rasen|stolpern|flattern)",
            r"unregelmäßiger (?:puls|herzschlag)",
        ),
    ),
    "cauda": (
        EMERGENCY,
        (
            r"(?:lost|losing|no) (?:control (?:of|over) )?(?:my )?(?:bladder|bowels?)",
            r"numb (?:saddle|groin|genitals)",
            r"(?:wet|soiled) myself",
            r"blase nicht (?:mehr )?halten",
            r"taub\w* (?:im schritt|gesäß|genitalbereich)",
            r"reithosen(?:taubheit|anästhesie)",
            r"einnässen",
            r"eingenässt",
        ),
    ),
    "muscle_breakdown": (
        SAME_DAY,
        (
            r"(?:dark|brown|cola|tea)(?:[ -]?colou?red)? (?:urine|pee|wee)",
            r"(?:urine|pee) (?:is|was|looks|turned) (?:dark|brown|like cola)",
            r"(?:dunkler|brauner|cola\w*) (?:urin|harn)",
            r"urin (?:ist|war) (?:dunkel|braun)",
        ),
    ),
    "calf_clot": (
        SAME_DAY,
        (
            r"calf (?:is |was )?(?:swollen|swelling)",
            r"swollen calf",
            r"calf swelling",
            r"(?:wade|unterschenkel) (?:ist |war )?(?:geschwollen|dick)",
            r"geschwollene wade",
            r"wadenschwellung",
        ),
    ),
    "joint": (
        SAME_DAY,
        (
            r"(?:knee|elbow|shoulder|hip|ankle|joint|it) (?:had |was )?(?:locked(?! (?:out|in))|locking)",
            r"(?:knee|elbow|shoulder|hip|ankle|joint|it) (?:gave way|gives way|giving way|buckled)",
            r"(?:knee|elbow|ankle|joint|shoulder) (?:is |was |got )?(?:very )?(?:swollen|swelled|blew up)",
            r"(?:knie|ellbogen|schulter|hüfte|gelenk) (?:ist |war |hat )?(?:blockiert|weggeknickt|nachgegeben)",
            r"(?:knie|ellbogen|schulter|hüfte|gelenk) (?:ist |war )?(?:geschwollen|dick)",
        ),
    ),
    "pop": (
        SAME_DAY,
        (
            r"(?:felt|heard|with) (?:a |something )?(?:loud |big )?(?:pop|snap|tear|crack|rip)(?:ped|ping)?\b",
            r"something (?:popped|snapped|tore|ripped)",
            r"(?:pec|biceps|hamstring|calf|achilles|quad) (?:popped|snapped|tore)",
            r"(?:knall|riss|reißen|schnalzen|plopp\w*) (?:gehört|gespürt|gefühlt)",
            r"etwas (?:gerissen|geknallt)",
            r"hat (?:laut )?geknallt",
        ),
    ),
    "numbness": (
        SAME_DAY,
        (
            r"numb(?:ness)?\b",
            r"tingling",
            r"pins and needles",
            r"can't feel my (?:fingers|hand|foot|toes|leg|arm)",
            r"taub(?:heit(?:sgefühl)?|e finger|e zehen)?\b",
            r"kribbeln\w*",
            r"ameisenlaufen",
            r"eingeschlafen\w* (?:hand|finger|arm|bein|fuß)",
        ),
    ),
    "vision": (
        SAME_DAY,
        (
            r"(?:blurred|blurry|double|lost|loss of|tunnel) vision",
            r"vision (?:went|is|was|got) (?:blurry|black|double)",
            r"flashes (?:of light )?(?:in|before) my eyes?",
            r"sehstörung\w*",
            r"doppelbilder",
            r"verschwommen (?:gesehen|sehen)",
            r"sehe verschwommen",
        ),
    ),
    "dizziness": (
        SAME_DAY,
        (
            r"dizz(?:y|iness)",
            r"light[- ]?headed\w*",
            r"room (?:was )?spinning",
            r"schwindel\w*",
            r"schwindlig",
            r"benommen\w*",
        ),
    ),
    "fever": (
        SAME_DAY,
        (
            r"fever\w*",
            r"temperature of (?:38|39|40)",
            r"fieber\w*",
            r"schüttelfrost",
        ),
    ),
    "pregnancy": (
        SAME_DAY,
        (
            r"vaginal bleeding|spotting blood",
            r"(?:regular|painful|having) contractions",
            r"waters broke",
            r"fluid leak\w*",
            r"baby (?:is |has )?(?:not|less|hardly) mov\w+|baby moves less",
            r"vaginale blutung|schmierblutung\w*",
            r"wehen\b",
            r"fruchtwasser\w*",
            r"kind bewegt sich (?:weniger|kaum|nicht)",
        ),
    ),
    "sharp_pain": (
        SAME_DAY,
        (
            r"(?:sharp|stabbing|shooting|radiating|unbearable) (?:pain|ache)",
            r"pain (?:shoots|radiates|shooting|radiating)",
            r"(?:stechende|einschießende|ausstrahlende|unerträgliche)[rn]? schmerz\w*",
            r"schmerz\w* (?:strahlt|strahlen|schießt)",
        ),
    ),
}

RED_FLAGS: Final = tuple(_FLAGS)

_COMPILED: Final = {
    code: (urgency, re.compile(r"(?<!\w)(?:" + "|".join(patterns) + ")", re.IGNORECASE))
    for code, (urgency, patterns) in _FLAGS.items()
}
_DENIED: Final = re.compile(
    r"(?:\bno|\bnot|\bnever|\bwithout(?: any)?|n't(?: (?:have|had|feel|get))?(?: any)?"
    r"|\bkeine?n?|\bohne|\bnicht)\s+(?:\w+\s+)?$",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class RedFlag:
    """A code of RED_FLAGS, its urgency, the words found and whether they seem to be denied."""

    code: str
    urgency: str
    words: str
    denied: bool = False


def red_flags(text: str) -> tuple[RedFlag, ...]:
    """Flags in a note or message, the most urgent first, each code once (its plainest mention)."""
    text = " ".join(text[:_MOST_CHARACTERS].replace("’", "'").split())
    found: list[RedFlag] = []
    for code, (urgency, pattern) in _COMPILED.items():
        hits = [
            RedFlag(code, urgency, match.group(), bool(_DENIED.search(text[: match.start()])))
            for match in pattern.finditer(text)
        ]
        if hits:
            found.append(min(hits, key=lambda hit: hit.denied))
    return tuple(sorted(found, key=lambda flag: (flag.denied, URGENCIES.index(flag.urgency))))
