"""Our colors: for sunlight, for the cab, for terminals with sixteen colors or none; each text on its ground is 7:1.

Hue says how much work is left and nothing else: calm, work left, doubt. Cut and fill have one color between them;
a word, a sign, the side of the bar and the panel tell them apart. Rank is told by ink and the quieter ink.
The ratios are those of WCAG 2 (W3C, Web Content Accessibility Guidelines 2.1, 1.4.3); a test measures them.
"""

from __future__ import annotations

from textual.theme import Theme

ROLES = ("ink", "quiet", "calm", "work", "doubt", "ground", "card", "band", "band-ink", "band-quiet")
"""What our style sheet calls the colors of a theme; text in the first five stands on ground and on card."""


def _theme(name: str, *, dark: bool, roles: tuple[str, ...], strong: str = "bold") -> Theme:
    """A theme of our own: a color for each role, and the same ones for what Textual draws itself."""
    color = dict(zip(ROLES, roles, strict=True))
    ink, ground, card = color["ink"], color["ground"], color["card"]
    return Theme(
        name=name,
        dark=dark,
        ansi=ink.startswith("ansi_"),
        primary=ink,
        secondary=color["quiet"],
        accent=ink,
        success=color["calm"],
        warning=color["work"],
        error=color["doubt"],
        foreground=ink,
        background=ground,
        surface=ground,
        panel=card,
        boost=ground,
        variables={
            **color,
            "strong": strong,
            "ansi-background": ground,
            "ansi-foreground": ink,
            "surface": ground,
            "panel": card,
            "border": ink,
            "border-blurred": color["quiet"],
            "text": ink,
            "text-muted": color["quiet"],
            "text-disabled": color["quiet"],
            "input-cursor-background": ink,
            "input-cursor-foreground": ground,
            "input-cursor-text-style": "none",
            "input-selection-background": ink,
            "input-selection-foreground": ground,
            "block-cursor-background": ink,
            "block-cursor-foreground": ground,
            "block-cursor-text-style": "none",
            "block-cursor-blurred-background": ink,
            "block-cursor-blurred-foreground": ground,
            "scrollbar": color["quiet"],
            "scrollbar-hover": color["quiet"],
            "scrollbar-active": ink,
            "scrollbar-background": card,
            "scrollbar-background-hover": card,
            "scrollbar-background-active": card,
            "scrollbar-corner-color": ground,
        },
    )


SUN = _theme(
    "sun",
    dark=False,
    roles=(
        *("#000000", "#4A4A4A", "#00523C", "#7A2E00", "#5B1A8B"),
        *("#FFFFFF", "#F1EEE6", "#1C2833", "#FFFFFF", "#C9D1D9"),
    ),
)
NIGHT = _theme(
    "night",
    dark=True,
    roles=(
        *("#F2F2F2", "#B4B4B4", "#2FD6A6", "#E59A3C", "#D6A8FF"),
        *("#0B0B0B", "#1B1D20", "#2B3138", "#FFFFFF", "#C9D1D9"),
    ),
)
PLAIN = _theme(
    "plain",
    dark=False,
    roles=(*["#000000"] * 5, *["#FFFFFF"] * 2, "#000000", *["#FFFFFF"] * 2),
)
# Of sixteen colors these alone are 7:1 in both palettes that terminals begin with: on black white, bright white,
# bright green, bright yellow, bright cyan; on bright white black and blue. No bold: many draw bold black as gray.
SIXTEEN_SUN = _theme(
    "sun-16",
    dark=False,
    strong="none",
    roles=(
        *("ansi_black", "ansi_black", "ansi_black", "ansi_blue", "ansi_black"),
        *("ansi_bright_white", "ansi_bright_white", "ansi_black", "ansi_bright_white", "ansi_bright_white"),
    ),
)
SIXTEEN_NIGHT = _theme(
    "night-16",
    dark=True,
    strong="none",
    roles=(
        *("ansi_bright_white", "ansi_white", "ansi_bright_green", "ansi_bright_yellow", "ansi_bright_cyan"),
        *("ansi_black", "ansi_black", "ansi_white", "ansi_black", "ansi_black"),
    ),
)

OURS = (SUN, NIGHT, PLAIN)
SIXTEEN = (SIXTEEN_SUN, SIXTEEN_NIGHT)


def fitting(wanted: str, *, no_color: bool, color_system: str | None) -> str:
    """The theme to use: the wanted one, unless the terminal or the person can't have its colors."""
    if no_color:
        return PLAIN.name
    if color_system not in ("truecolor", "256"):
        return SIXTEEN_NIGHT.name if wanted == NIGHT.name else SIXTEEN_SUN.name
    return wanted


def following(theme: str) -> str:
    """The theme after that one, among those of as many colors."""
    names = [each.name for each in (SIXTEEN if theme in (each.name for each in SIXTEEN) else OURS)]
    return names[(names.index(theme) + 1) % len(names)] if theme in names else names[0]
