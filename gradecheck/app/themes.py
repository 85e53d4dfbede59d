"""Colors for sunlight, for the cab and for terminals with few or none; each pair of text and ground is 7:1 or more.

The verdict's hues are those of Okabe and Ito's palette for colour-blind eyes (Color Universal Design, 2008):
vermillion and orange for cut, blue and sky blue for fill, bluish green for on grade, darkened on white and
lightened on black until the contrast is reached. Colour only ever repeats what a word and a sign say.
"""

from __future__ import annotations

from textual.theme import Theme

CUT, FILL, ON_GRADE, DOUBT = "cut", "fill", "on-grade", "doubt"

SUN = Theme(
    name="sun",
    primary="#003A70",
    accent="#003A70",
    foreground="#000000",
    background="#FFFFFF",
    surface="#FFFFFF",
    panel="#E8E8E8",
    success="#00523C",
    warning="#7A3300",
    error="#980000",
    dark=False,
    variables={
        CUT: "#803300",
        FILL: "#00467A",
        ON_GRADE: "#00523C",
        DOUBT: "#980000",
        "footer-key-foreground": "#003A70",
        "footer-description-foreground": "#000000",
        "footer-background": "#E8E8E8",
        "input-cursor-background": "#000000",
        "input-cursor-foreground": "#FFFFFF",
    },
)
NIGHT = Theme(
    name="night",
    primary="#8CC8FF",
    accent="#8CC8FF",
    foreground="#F2F2F2",
    background="#0B0B0B",
    surface="#0B0B0B",
    panel="#222222",
    success="#2FD6A6",
    warning="#FFC266",
    error="#FF9C9C",
    dark=True,
    variables={
        CUT: "#F0A30A",
        FILL: "#6CC3F5",
        ON_GRADE: "#2FD6A6",
        DOUBT: "#FF9C9C",
        "footer-key-foreground": "#8CC8FF",
        "footer-description-foreground": "#F2F2F2",
        "footer-background": "#222222",
        "input-cursor-background": "#F2F2F2",
        "input-cursor-foreground": "#0B0B0B",
    },
)
PLAIN = Theme(
    name="plain",
    primary="#000000",
    accent="#000000",
    foreground="#000000",
    background="#FFFFFF",
    surface="#FFFFFF",
    panel="#FFFFFF",
    success="#000000",
    warning="#000000",
    error="#000000",
    dark=False,
    variables={
        CUT: "#000000",
        FILL: "#000000",
        ON_GRADE: "#000000",
        DOUBT: "#000000",
        "footer-key-foreground": "#000000",
        "footer-description-foreground": "#000000",
        "footer-background": "#FFFFFF",
        "input-cursor-background": "#000000",
        "input-cursor-foreground": "#FFFFFF",
    },
)
ANSI_VARIABLES = {CUT: "ansi_red", FILL: "ansi_blue", ON_GRADE: "ansi_green", DOUBT: "ansi_red"}
"""What the verdict's colours are in a theme that is not ours: the one for terminals with sixteen colours."""

OURS = (SUN, NIGHT, PLAIN)
SIXTEEN = "ansi-light"


def fitting(wanted: str, *, no_color: bool, color_system: str | None) -> str:
    """The theme to use: the wanted one, unless the terminal or the person can't have its colours."""
    if no_color:
        return PLAIN.name
    if color_system not in ("truecolor", "256"):
        return SIXTEEN
    return wanted
