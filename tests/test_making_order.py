"""Every build's card can be worked through in its order: nothing is needed before it is there, nothing is forgotten."""

from __future__ import annotations

import random
from functools import cache

import pytest

from coutil.docket import PARTS, Docket, DocketError, MakingStep, make_docket, making_up
from coutil.lay.blocks import MARGIN
from coutil.lay.cloths import materials
from coutil.lay.wants import gather
from coutil.make import work_out
from coutil.order import Order, parse_order
from coutil.pattern import Pattern
from order_texts import BODY

UNEVEN = "[body.left]\nbust_to_underbust = 8.5\nbust_to_waist = 19\n"
FULL = '[build.kit]\ngripper = true\n[build.pad]\nthickness = "6 mm"\n[build.lining]\nsmaller = true\n'
# The builds of a workroom: (style and build, uneven body).
BUILDS = {
    "as it always was": ("", False),
    "unlined": ('[style]\nclosing = "hooks"\n[build]\nlayers = ["shell"]\n', False),
    "lined and laced": (f'[style]\nclosing = "lacing"\n{FULL}', False),
    "zipped": (f'[style]\nclosing = "zip"\n{FULL}', False),
    "zipped without a kit": ('[style]\nclosing = "zip"\n[build.lining]\n', False),
    "hooked": (f'[style]\nclosing = "hooks"\n{FULL}', False),
    "uneven": (f'[style]\nclosing = "lacing"\n{FULL}', True),
    "silk over a boned strength layer": (
        '[build]\nlayers = ["shell", "flat_lining", "strength", "foam", "web"]\n[build.bones]\nextra = "always"\n'
        "[build.kit]\n[build.lining]\n",
        False,
    ),
    "velvet": (
        '[build]\nlayers = ["shell", "strength"]\n[build.lining]\n[[cloth]]\nname = "velvet"\nfor = ["shell"]\n'
        'direction = "one-way"\npile = true\n',
        False,
    ),
    "lace": ('[build]\nlayers = ["lace", "shell", "interfacing", "foam", "web"]\n[build.lining]\n', False),
    "bones in two layers": (
        '[build]\nlayers = ["shell", "strength", "foam"]\n[build.bones]\non = ["strength", "lining"]\n'
        "[build.lining]\nfused = true\n",
        False,
    ),
    "pads on both": ('[build.pad]\non = ["shell", "lining"]\n[build.lining]\nfused = true\n', False),
    "a busk": (f'[[style.opening]]\nat = "centre_front"\nwith = "busk"\n{FULL}', False),
    "a busk without a kit": ('[[style.opening]]\nat = "centre_front"\nwith = "busk"\n[build.lining]\n', False),
    "a busk, laced behind": (
        '[[style.opening]]\nat = "centre_front"\nwith = "busk"\n'
        '[[style.opening]]\nat = "centre_back"\nwith = "lacing"\n'
        '[build]\nlayers = ["shell", "strength"]\n[build.kit]\n[build.lining]\n',
        False,
    ),
    "buttons": (f'[[style.opening]]\nat = "centre_back"\nwith = "buttons"\n{FULL}', False),
    "a zip at the side": (f'[[style.opening]]\nat = "side_left"\nwith = "zip"\n{FULL}', False),
    "elastic": (f'[[style.opening]]\nat = "centre_back"\nwith = "elastic"\n{FULL}', False),
    "an underbust corset": (
        '[style]\nseaming = "underbust-5"\n[build]\nlayers = ["shell", "strength"]\n[build.kit]\n',
        False,
    ),
    "no pads": ("[build.pad]\non = []\n[build.lining]\n", False),
}


@cache
def made(text: str, uneven: bool) -> tuple[Order, Pattern, Docket, tuple[MakingStep, ...]]:
    order = parse_order(BODY + (UNEVEN if uneven else "") + text)
    pattern = work_out(order).pattern
    docket = make_docket(order, pattern, None)
    return order, pattern, docket, making_up(order, pattern, docket)


def work_through(steps: tuple[MakingStep, ...]) -> list[str]:
    """What stands in the way of working through the steps in their order."""
    there: set[str] = set()
    wrong = []
    for s in steps:
        wrong += [f"{s.title}: needs {n}" for n in s.needs if n not in there]
        wrong += [f"{s.title}: leaves {n} a second time" for n in s.leaves if n in there]
        there |= set(s.leaves)
    return wrong


def forgotten(order: Order, pattern: Pattern, docket: Docket, steps: tuple[MakingStep, ...]) -> set[str]:
    """What the pattern and the docket ask for, from their own data, and no step leaves."""
    layers = {p.layer for p in pattern.pieces}
    sewn = layers & {"shell", "strength", "lining", "lace"}
    wanted = {f"cut:{x}" for x in layers} | {f"joined:{x}" for x in sewn} | {"marked", "top", "hem", "done"}
    wanted |= {"fitted:toile", "basted:shell", "fitted:second"}
    wanted |= {f"set:{x}" for x in layers & {"modesty_panel", "guard", "underlap"}}
    wanted |= {f"cup:{x}" for x in sewn & {"shell", "strength"}} if pattern.cup_seams else set()
    wanted |= {f"padded:{x}" for x in order.build.pad.on} if "foam" in layers else set()
    wanted |= {"channels", "boned"} if docket.bones else set()
    wanted |= {"stay"} if docket.kit.stay else set()
    wanted |= {"trim"} if docket.kit.gripper or docket.kit.ribbon else set()
    wanted |= {"mounted"} if {"strength", "lace"} & layers else set()
    wanted |= {"backed:shell"} if "flat_lining" in layers else set()
    wanted |= {"lace"} if "lace" in layers else set()
    wanted |= {"net"} if "net" in layers else set()
    wanted |= {"lined"} if "lining" in layers else {"finished"}
    for f in docket.fastenings:
        if f.kind != "none":
            wanted |= {f"edge:{f.at}", f"opening:{f.at}"}
            # A facing stands between lining and zip, and the lining is joined to it.
            faced = any(p.layer == "facing" and any(e.role == f.at for e in p.net) for p in pattern.pieces)
            if "lining" in layers:
                wanted |= {f"joined:facing:{f.at}"} if faced else {f"felled:{f.at}"} if f.kind == "zip" else set()
            wanted |= {f"busk:{f.at}"} if f.kind == "busk" else set()
    return wanted - {x for s in steps for x in s.leaves}


@pytest.mark.parametrize("build", BUILDS)
def test_every_build_can_be_worked_through(build: str) -> None:
    order, pattern, docket, steps = made(*BUILDS[build])
    assert work_through(steps) == []
    assert forgotten(order, pattern, docket, steps) == set()
    # What a step needs is there for a reason: the parts follow each other but for what closes the openings.
    parts = [s.part for s in steps if s.part != "closing"]
    assert parts == sorted(parts, key=PARTS.index)
    assert len({s.title for s in steps}) == len(steps)


@pytest.mark.parametrize("build", BUILDS)
def test_the_steps_cannot_be_worked_through_in_another_order(build: str) -> None:
    """So that the model sees a step that stands too early: the last one first, and every step taken out."""
    order, pattern, docket, steps = made(*BUILDS[build])
    assert work_through((*steps[-1:], *steps[:-1]))
    for k, s in enumerate(steps):
        without = (*steps[:k], *steps[k + 1 :])
        assert work_through(without) or forgotten(order, pattern, docket, without), s.title


def test_the_order_is_that_of_a_workroom() -> None:
    """Common practice, no source: toile, cut, mark, fuse, pads, baste, bones, lining, fitting, opening, hem last."""
    titles = [s.title for s in made(*BUILDS["lined and laced"])[3]]
    places = [
        next(k for k, t in enumerate(titles) if start in t)
        for start in (
            "Toile", "Fuse", "Mark", "Set the pads", "Baste", "princess seams of the shell", "other seams of the shell",
            "casings", "waist stay", "Face the opening", "Repeat for the lining", "Join shell", "insert the bones",
            "Second fitting", "eyelets", "hem", "Press off",
        )
    ]  # fmt: skip
    assert places == sorted(places)
    zipped = [s.title for s in made(*BUILDS["zipped without a kit"])[3]]
    joined = zipped.index("Join shell and lining at the top")
    assert zipped.index("Set the zip") < joined < zipped.index("Fell the lining")


def said(build: str) -> str:
    return " ".join(x for s in made(*BUILDS[build])[3] for x in (*s.says, s.must))


def test_each_build_is_told_by_its_own() -> None:
    assert "fuse" not in said("velvet").replace("not fused", "").replace("fusing crushes", "").lower()
    assert "no iron on the pile" in said("velvet")
    assert "pile" not in said("as it always was")
    assert "Overlock or bind" in said("unlined")
    assert "lining" not in said("unlined")
    assert "each piece on its own side" in said("uneven")
    assert "never through the shell" in said("lined and laced")
    assert "sewn to the strength layer" in said("silk over a boned strength layer")
    assert "it is not fused" in said("lace")
    assert "Lay the lace's finished edge on the top line" in said("lace")
    assert "foam" not in said("no pads").lower().replace("no foam", "")


def says(build: str, title: str) -> str:
    """The sentences of the one step whose title starts so."""
    (found,) = [s for s in made(*BUILDS[build])[3] if s.title.startswith(title)]
    return " ".join(found.says)


def test_a_busk_goes_in_before_the_channel_beside_it_closes_its_pocket() -> None:
    facing, busk = says("a busk", "Face the opening"), says("a busk", "Set the busk")
    assert "leave the seam open where they come through" in facing
    assert "channels" not in facing
    assert busk.index("loops") < busk.index("studs") < busk.index("from 1.5 cm")


def test_the_top_of_a_facing_is_sewn_before_it_is_turned() -> None:
    """Its channels hold it down from there on, so nothing could close its top later."""
    facing = says("lined and laced", "Face the opening")
    assert facing.index("across the top") < facing.index("Turn it") < facing.index("channels")
    assert "begin where the facing's own top seam ends" in says("lined and laced", "Join shell")


def test_the_lining_is_joined_to_the_facing_before_its_top_is_closed() -> None:
    for build in ("lined and laced", "zipped", "hooked", "a busk", "buttons"):
        titles = [s.title for s in made(*BUILDS[build])[3]]
        joined = next(k for k, t in enumerate(titles) if t.startswith("Join the lining to the facing"))
        face = next(k for k, t in enumerate(titles) if t.startswith(("Face the opening", "Set the zip")))
        lining, top = titles.index("Repeat for the lining"), titles.index("Join shell and lining at the top")
        assert max(face, lining) < joined < top
        assert "with 1.3 cm (1/2 in) of allowance on both" in says(build, "Join the lining to the facing").replace(
            "≈", ""
        )
        # Nothing is trimmed off or felled there any more.
        assert "trim what is over" not in said(build)
    assert "3.6 cm" in says("lined and laced", "Join the lining to the facing")


def test_bones_beside_a_zip_have_channels_in_its_facing() -> None:
    zipped = says("zipped", "Set the zip")
    assert zipped.index("facing") < zipped.index("channels through facing")
    assert "from 1.2 cm" in zipped
    assert not any(s.title.startswith("Fell the lining") for s in made(*BUILDS["zipped"])[3])
    assert "to the tape" in says("zipped without a kit", "Fell the lining")


def test_the_side_that_opens_is_not_sewn() -> None:
    build = "a zip at the side"
    seams = says(build, "Sew the other seams of the shell")
    assert "The left side seam is not sewn: it opens there." in seams
    assert "Side seam, 2.5 cm" in seams
    assert "side seam is not sewn" not in says("zipped", "Sew the other seams of the shell")
    assert "On the left side, which opens" in says(build, "Sew the casings")
    zipped = says(build, "Set the zip")
    assert "finished left side edge" in zipped
    # The zip's allowance, as the seam's own.
    assert "Fold in 2.5 cm" in zipped
    assert "side left" not in said(build)


def test_pads_are_set_in_the_part_of_the_layer_that_carries_them() -> None:
    for build, part in (("lined and laced", "shell"), ("silk over a boned strength layer", "strength")):
        (pads,) = [s for s in made(*BUILDS[build])[3] if s.title == "Set the pads"]
        assert pads.part == part


def test_nothing_is_done_twice_or_where_no_hand_reaches() -> None:
    strong = "silk over a boned strength layer"
    assert said(strong).count("tack a ready cup") == 1
    assert "allowances of every seam at the waist" not in said(strong)
    assert "allowances of every seam at the waist" in said("lined and laced")
    assert "lie between the layers" in says("an underbust corset", "Finish the inside")
    assert "channels lie over" not in says("an underbust corset", "Finish the inside")
    assert not any(s.part == "strength" for s in made(*BUILDS["lace"])[3])


def test_what_is_cut_from_a_pile_is_not_pressed_flat() -> None:
    velvet = '[[cloth]]\nname = "velvet"\nfor = ["shell"]\ndirection = "one-way"\npile = true\n'
    text = f'[style]\nclosing = "hooks"\n[build]\nlayers = ["shell"]\n[build.kit]\n[build.lining]\n{velvet}'
    steps = {s.title: s for s in made(text, False)[3]}
    assert "Cut from the same cloth: underlap." in steps["Cut the shell"].says
    assert "cut:underlap" in steps["Cut the shell"].leaves
    assert "underlap" not in " ".join(steps["Cut the other layers"].says)
    assert "facings" in " ".join(steps["Cut the other layers"].says)


def test_with_two_openings_each_panel_is_told_where_it_lies() -> None:
    build = "a busk, laced behind"
    assert "one centre back edge" in says(build, "The modesty panel")
    assert "at the centre front" in says(build, "The guard")
    # A seaming with a panel under the arm has no side seam for the loops.
    assert "side seam" not in says(build, "Tape and loops")


def test_velvet_is_never_pressed() -> None:
    shell = says("velvet", "Clip and press the shell") + says("velvet", "Sew the other seams of the shell")
    assert "press" not in shell.lower()
    assert "press" not in says("velvet", "Close the hem").lower()


@pytest.mark.parametrize("build", BUILDS)
def test_what_can_hurt_is_told(build: str) -> None:
    says = said(build)
    for word in ("needles", "pregnancy", "faint", "breathes deeply", "go numb"):
        assert word in says, word
    if "padded" in " ".join(x for s in made(*BUILDS[build])[3] for x in s.leaves):
        assert "No flame" in says
        assert "low heat" in says or "cut:web" not in {x for s in made(*BUILDS[build])[3] for x in s.leaves}


OPENINGS = {
    "centre_back": ("lacing", "zip", "hooks", "buttons", "elastic"),
    "centre_front": ("busk", "hooks", "lacing", "zip", "buttons"),
    "side_left": ("zip",),
}
SEAMINGS = ("princess-4", "princess-4", "side-panel-4", "princess-5", "corset-6", "underbust-5", "belt-3")


def listed(words: list[str]) -> str:
    return "[" + ", ".join(f'"{w}"' for w in words) + "]"


def random_build(rng: random.Random) -> str:
    others = ("lace", "flat_lining", "interfacing", "strength", "foam", "web")
    layers = ["shell", *(x for x in others if rng.random() < 0.5)]
    lining = rng.choice(["", "[build.lining]", "[build.lining]\nfused = true", "[build.lining]\nsmaller = true"])
    carriers = [x for x, there in (("shell", True), ("strength", "strength" in layers), ("lining", lining)) if there]
    flags = {k: rng.choice(["true", "false"]) for k in ("modesty", "stay", "gripper", "loops")}
    kit = ["[build.kit]", *(f"{k} = {v}" for k, v in flags.items())] if rng.random() < 0.5 else []
    places = [x for x in OPENINGS if rng.random() < 0.4]
    opened = [x for at in places for x in ("[[style.opening]]", f'at = "{at}"', f'with = "{rng.choice(OPENINGS[at])}"')]
    return "\n".join(
        [
            "[style]",
            f'seaming = "{rng.choice(SEAMINGS)}"',
            f'neckline = "{rng.choice(["plunge", "sweetheart", "straight"])}"',
            *([] if opened else [f'closing = "{rng.choice(["lacing", "zip", "hooks"])}"']),
            *opened,
            "[build]",
            f"layers = {listed(layers)}",
            "[build.pad]",
            f'thickness = "{rng.randint(2, 8)} mm"',
            f"on = {listed(rng.sample(carriers, rng.randint(0, len(carriers))))}",
            "[build.bones]",
            f'extra = "{rng.choice(["none", "fuller", "always"])}"',
            f"on = {listed(rng.sample(carriers, rng.randint(1, len(carriers))))}",
            *kit,
            lining,
        ]
    )


def test_a_hundred_random_builds() -> None:
    """No stop without a reason, every piece on the docket, every step in its place."""
    rng = random.Random(12)
    refused: list[str] = []
    for k in range(100):
        text = random_build(rng)
        try:
            order, pattern, docket, steps = made.__wrapped__(text, k % 3 == 0)
        except DocketError as e:
            refused.append(e.refusal.code)
            continue
        mats, _ = materials(order, dict.fromkeys(p.layer for p in pattern.pieces))
        wanted, blocks, wrong = gather(pattern, mats, margin=MARGIN)
        blocked = {name for b in blocks for name, _ in b.pieces}
        laid = {w.name for x in wanted for w in x.wants} - {b.name for b in blocks} | blocked
        assert wrong == ()
        assert laid == {c.piece for c in docket.cut}, text
        # A zip at the side of a seaming without a side seam is the one thing that is asked for in vain.
        assert {f.code for f in pattern.findings if f.level == "stop"} <= {"order.no_side_seam"}, text
        assert work_through(steps) == [], text
        assert forgotten(order, pattern, docket, steps) == set(), text
        assert sorted(c.piece for c in docket.cut) == sorted(p.name for p in pattern.pieces), text
    # A belt is too low for any busk that is sold.
    assert set(refused) <= {"docket.no_busk"}
    assert len(refused) < 5
