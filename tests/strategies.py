"""Hypothesis strategies for texts that readers must bear; FEEDWRIGHT_LONG=1 tries many more."""

from __future__ import annotations

from hypothesis import HealthCheck, settings, strategies as st
from tiers import examples

many = settings(
    max_examples=examples(20, 100, 5000),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)

SAVED_TITLE = "#*# <---------------------- SAVE_CONFIG ---------------------->"
SAVED_NOTICE = "#*# DO NOT EDIT THIS BLOCK OR BELOW. The contents are auto-generated."

# Lines after real ones and after real mistakes, in a scenario of our own.
LINES = (
    "", " ", "\t", "[s]", "[s one]", "[t]  # note", "[t]# note", "[t] ; note", "[t]x", "[ t ]",
    "  [t]", "[]", "[]]", "[a] [b]", "[a", "[a: b]", "[a ; b]", "[a;b]", "[S]", "[\u00e4]",
    "k: 1", "k:1", "k : 1", "k = 1", "k=1", "k =1", "k\t:\t1", "K: 2", "a b: 3", "k:", "k: # c",
    "k:  ;c", "k: ;", "k:;c", "k: 0.85#0.5", "k: 1;2", "k: 1 ;2", "k: board: P1", "k: a=b:c",
    "k:\u00a010", "k: \u20095\u2009", "k: 50:10 # 50:17", "j: {{ x }}", "j: 20 %", "j: [t]",
    "  k: 1", "\tk: 1", "   k: 9", "  word", "\tG1 X1 ; c", "  # c", "  ; c", " \u00a0x: y",
    "word", "a word or two", "# c", "; c", "#k: 1", "#[s]", ";k: 1", "#*#", "#*# ", "#*#x",
    "#*# [s]", "#*# k = 1", "#*# j =", "#*# \t1, 2", "#*#  k: 3", "=======", "<<<<<<< HEAD",
    ">>>>>>> side", "||||||| base", ": 1", "= 1", "::", "\u2028k: 1", "k: a\u2028b", "\x0bk: 1",
    "k: a\x85b", "k: \x1c", "\x0c", "\ufeffk: 1", "E1=P1, E2=P2", "  E3=P3, E4=P4", "{% if x %}",
    SAVED_TITLE, SAVED_NOTICE, SAVED_TITLE + " ", " " + SAVED_TITLE,
)  # fmt: skip
INCLUDE_LINES = (
    "[include b.cfg]", "[include  b.cfg]", "[include\tb.cfg]", "[include ]", "[Include b.cfg]",
    "[include a.cfg]", "[include c*.cfg]", "[include none*.cfg]", "  [include b.cfg]",
    "[include b.cfg] # c", "[include b.cfg] ; c", "[include d/e.cfg]", "#[include b.cfg]",
)  # fmt: skip

small_text = st.text(alphabet="[]:=#;* \t\u00a0ab0.{}%,<>'\"\\", max_size=12)
any_text = st.text(st.characters(blacklist_characters="\r\n", codec="utf-8"), max_size=8)
line = st.one_of(st.sampled_from(LINES), st.sampled_from(LINES), small_text, any_text)
line_end = st.sampled_from(("\n", "\n", "\n", "\r\n", "\r"))


@st.composite
def config_text(draw: st.DrawFn, *, includes: bool = False, max_lines: int = 20) -> str:
    """Draw a text of nasty lines with line ends of one or several kinds."""
    one = st.one_of(line, st.sampled_from(INCLUDE_LINES)) if includes else line
    lines = draw(st.lists(one, max_size=max_lines))
    usual = draw(line_end)
    ends = st.one_of(st.just(usual), st.just(usual), st.just(usual), line_end)
    text = "".join(part + draw(ends) for part in lines)
    return text if draw(st.booleans()) else text.rstrip("\r\n")


REFUSED = ("[]", "[a", "[a ; b]", "word", "a word or two", "E1=P1")
_sound_lines = st.sampled_from(
    [text for text in LINES if text[:1] not in "=<>|:{" and text not in REFUSED]
    + ["k: 5", "[t]", "  more", "\t\tmore", "k: [s]", "  ; k: 2", "j:", "[s]", "x: = y"]
)
_sound = st.one_of(
    _sound_lines,
    st.builds("{}{}".format, st.sampled_from(("k:", "k = ", "  ", "j: ")), small_text),
    st.sampled_from(
        ("[include b.cfg]\n[t]", "[include c?.cfg] # c\n[s]", "[include d/e.cfg]\n[u]")
    ),
)


@st.composite
def orderly_text(draw: st.DrawFn, *, includes: bool = False) -> str:
    """Draw a text that the firmware will mostly accept: it begins with a header."""
    lines = draw(st.lists(_sound, max_size=15))
    kept = [line for line in lines if includes or not line.startswith("[include")]
    return draw(line_end).join(("[s]", *kept)) + draw(st.sampled_from(("", "\n")))


@st.composite
def saved_text(draw: st.DrawFn) -> str:
    """Draw a config with a saved block that is nearly, or quite, as it should be."""
    marked = st.sampled_from([text for text in LINES if text.startswith("#*#")])
    body = draw(st.one_of(config_text(max_lines=6), orderly_text(), orderly_text()))
    block = [SAVED_TITLE, SAVED_NOTICE, "#*#", *draw(st.lists(marked, max_size=6))]
    if draw(st.integers(0, 3)) == 0:
        block.insert(draw(st.integers(0, len(block))), draw(line))
    return body + "\n" + "\n".join(block) + draw(st.sampled_from(("", "\n", "\n\n")))


@st.composite
def config_bytes(draw: st.DrawFn) -> bytes:
    """Draw the bytes of a file: mostly configs, some spoilt, some anything at all."""
    text = draw(st.one_of(config_text(includes=True), saved_text()))
    data = draw(
        st.one_of(
            st.just(text.encode()),
            st.just(text.encode("latin-1", "replace")),
            st.just(b"\xef\xbb\xbf" + text.encode()),
            st.just(text.encode("utf-16")),
            st.just(text.encode("utf-16-le")),
            st.binary(max_size=40),
        )
    )
    if data and draw(st.booleans()):
        place = draw(st.integers(0, len(data)))
        data = data[:place] + draw(st.binary(max_size=3)) + data[place:]
    return data


@st.composite
def config_files(draw: st.DrawFn) -> dict[str, str]:
    """Draw the files of a config with includes; the root is ``a.cfg``."""
    names = ("a.cfg", "b.cfg", "c1.cfg", "c2.cfg", "d/e.cfg")
    rough = st.one_of(config_text(includes=True, max_lines=8), saved_text())
    orderly = orderly_text(includes=True)
    texts = st.one_of(rough, orderly) if draw(st.integers(0, 4)) == 0 else orderly
    return {name: draw(texts) for name in names if name == "a.cfg" or draw(st.integers(0, 4))}
