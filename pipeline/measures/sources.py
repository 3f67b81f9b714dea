"""The literature a formula or a typical error rests on, each with how it was read."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Source:
    """A reference and its status: seen, second-hand, memory, by definition or common practice."""

    text: str
    status: str


SOURCES: dict[str, Source] = {
    "definition": Source("By definition of the quantity.", "by definition"),
    "practice": Source("Common practice, no source.", "common practice"),
    "gravity": Source("Standard gravity 9.80665 m/s², CGPM 1901.", "second-hand"),
    "bosco1983": Source("Bosco et al. 1983, height from flight time.", "formula seen"),
    "linthorne2001": Source("Linthorne 2001, Am J Phys 69:1198.", "formula seen"),
    "graubner2011": Source("Graubner & Nixdorf 2011, New Stud Athl 26(1/2):19-53.", "seen"),
    "debaere2013": Source("Debaere et al. 2013, JSCR 27:116 (phase ends).", "seen"),
    "equations": Source(
        "Epley, Brzycki, Lander, Lombardi, Mayhew, O'Conner and Wathan equations, as tabulated in "
        "later comparisons (LeSuer et al. 1997, JSCR 11:211).",
        "second-hand",
    ),
    "jaric2002": Source("Jaric 2002, Sports Med 32:615.", "seen"),
    "comfort2015": Source("Comfort & McMahon 2015, JSCR 29:3089.", "seen"),
    "darralljones2016": Source("Darrall-Jones et al. 2016, JSCR.", "seen"),
    "hand2009": Source(
        "Hand to electronic +0.24 s (secondary); by electronics .225 s, Meinke et al. 2009.", "seen"
    ),
    "glaister2007": Source("Glaister et al. 2007, JSCR; PMC7280974; JSSM 2009 8(1).", "seen"),
    "samozino2016": Source(
        "Samozino et al. 2016, Scand J Med Sci Sports 26:648.", "formulas from memory"
    ),
    "morin2019": Source("Morin et al. 2019, J Biomech 94:82.", "formulas from memory"),
    "arsac2002": Source(
        "Arsac & Locatelli 2002, J Appl Physiol 92:1781 (air drag).", "formulas from memory"
    ),
    "mureika2001": Source("Mureika, arXiv physics/0006057 (wind and altitude).", "seen"),
    "linthorne1994": Source("Linthorne 1994, J Appl Biomech 10:110.", "seen"),
    "morin2005": Source("Morin et al. 2005, J Appl Biomech 21:167.", "memory"),
    "young1995": Source("Young 1995; Flanagan & Comyns 2008, SCJ 30:32.", "seen"),
    "healy2018": Source("Healy et al. 2018, RSI = (g/8) FT²/CT.", "seen"),
    "mirwald2002": Source("Mirwald et al. 2002, Med Sci Sports Exerc 34:689.", "second-hand"),
    # jumps
    "schmidtbleicher1992": Source(
        "Schmidtbleicher 1992, contacts under 250 ms are fast.", "second-hand"
    ),
    "harper2011": Source(
        "Harper et al. 2011, ten rebounds: the mean of the five best.",
        "rule second-hand, the limit of 250 ms from memory",
    ),
    "lloyd2009": Source(
        "Lloyd et al. 2009, J Sports Sci 27:1565 (five rebounds); the first left out.",
        "second-hand, the rule for the first from memory",
    ),
    "byrne2017": Source("Byrne et al. 2017, JSCR 31:721 (best drop height).", "seen"),
    "markwick2015": Source("Markwick et al. 2015 (RSI within a day).", "seen"),
    "mcmahon2021": Source("McMahon et al. 2021, Biomechanics 1:178 (real drop height).", "seen"),
    "mcguigan2006": Source("McGuigan et al. 2006; Suchomel et al. 2016.", "seen"),
    "bishop2016": Source("Bishop et al. 2016, SCJ, equations of asymmetry.", "abstract seen"),
    "sayers1999": Source(
        "Sayers et al. 1999, Med Sci Sports Exerc 31:572.",
        "abstract read, its equations second-hand",
    ),
    "harman1991": Source("Harman et al. 1991.", "second-hand"),
    "canavan2004": Source(
        "Canavan & Vescovi 2004, Med Sci Sports Exerc 36:1589 (signs).", "abstract seen"
    ),
    "owen2014": Source("Owen et al. 2014, JSCR 28:1552; PMC9750644.", "seen"),
    "ebben2010": Source("Ebben & Petushek 2010, RSI-modified.", "seen"),
    "mcmahon2018": Source("McMahon et al. 2018, RSI-modified of two groups.", "seen"),
    "dossantos2017": Source("Dos'Santos et al. 2017 (onset of a pull at 5 SD).", "memory"),
    "sheppard2011": Source("Sheppard et al. 2011 (dynamic strength index).", "memory"),
    "haugen2012": Source("Haugen et al. 2012, JSCR 26:473.", "seen"),
}
