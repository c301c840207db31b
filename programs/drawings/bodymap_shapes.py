"""The body map's coordinates, set by hand after general segment shares of stature.

Unit: figure height 800. y grows downward from the crown (0) to the sole (800), x is the distance from the
midline; only the half with x >= 0 is kept, the other is its mirror image. Each view is 388 wide. A point
marked `!` is a corner.

The figure is neither male nor female and has no face, hair, chest or groin; palms face forward, so that the
front shows flexors and the back extensors; arms stand 14 degrees off, so that arm and trunk never touch.
Where a region is drawn is a convention: deep muscles stand beside what covers them, and nothing claims
anatomy to the millimetre.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

FIGURE_HEIGHT = 800
VIEW_WIDTH = 388


@dataclass(frozen=True)
class Shape:
    """A run of points; `corners` are the indices of those that stay sharp."""

    points: tuple[tuple[float, float], ...]
    corners: frozenset[int]


def _shape(written: str) -> Shape:
    points: list[tuple[float, float]] = []
    corners = set()
    for index, pair in enumerate(written.split()):
        if pair.endswith("!"):
            corners.add(index)
        x, y = pair.rstrip("!").split(",")
        points.append((float(x), float(y)))
    return Shape(tuple(points), frozenset(corners))


def _pieces(written: str) -> tuple[Shape, ...]:
    return tuple(_shape(piece) for piece in written.split("/"))


CONTOUR = _shape(
    "0,0 17,4 30,17 36,38 36,58 33,76 26,94! 25,108 28,122 40,134 62,145 86,153 103,164 114,182 118,208 "
    "124,240 133,274 142,306 151,338 158,372 162,402 164,428 170,444 178,460 180,472 175,477 168,472 170,494 "
    "166,514 157,520 149,512 145,490 144,462 143,434 134,404 123,368 113,336 105,306 96,276 86,246 79,228! "
    "77,250 71,280 66,306 67,330 73,356 81,386 86,416 87,450 84,500 78,545 75,574 76,600 82,636 82,664 "
    "76,704 69,744 68,766 75,782 86,791 88,798 80,801 54,800 47,794 46,780 47,766 44,742 38,706 31,666 "
    "29,634 31,602 30,574 26,546 18,500 8,452 4,426! 0,420"
)

FRONT = MappingProxyType(
    {
        "neck": _pieces("20,100 22,114 17,130 8,144 4,146 7,132 13,116"),
        "trap_up": _pieces("28,129 39,139 57,148 68,152 50,153 31,150 23,144"),
        "delt_ant": _pieces("79,158 88,159 94,170 97,194 100,214 103,232 96,228 87,206 82,186 78,170"),
        "delt_lat": _pieces("97,163 105,171 110,186 113,208 117,234 119,248 112,240 106,218 101,192"),
        "pec_clav": _pieces("5,158! 26,156 50,157 69,159 74,174 70,181 50,178 26,174 5,174!"),
        "pec_stern": _pieces("5,178! 28,178 52,183 76,188 81,206 76,215 56,213 30,209 5,208!"),
        "pec_abd": _pieces("5,212! 30,213 56,217 73,221 64,232 44,240 22,240 5,236!"),
        "biceps": _pieces("98,236 107,248 115,272 122,296 124,310 116,314 108,300 100,276 92,250"),
        "brachialis": _pieces(
            "114,250 121,258 130,284 140,316 149,346 154,374 152,386 144,370 134,336 128,306 120,278"
        ),
        "fore_flex": _pieces("117,322 126,330 135,354 145,382 154,408 158,428 149,431 142,410 131,378 120,344"),
        "abs": _pieces("3,246! 22,246 31,254 31,284 29,316 26,350 20,380 11,402 3,410!"),
        "obliques": _pieces(
            "37,252 54,246 70,240 71,256 66,278 62,302 62,328 66,350 54,358 42,366 34,360 33,340 35,314 36,284"
        ),
        "hip_flex": _pieces("60,361 71,362 77,384 79,404 70,408 57,402 42,404 28,411 20,408 24,397 38,386 50,373"),
        "adductors": _pieces("11,416 28,415 44,412 40,434 35,458 32,482 28,506 24,498 17,466 11,434"),
        "rect_fem": _pieces("50,411 60,411 66,424 67,450 65,486 60,518 53,540 48,522 44,490 45,456 47,430"),
        "vasti": _pieces(
            "72,414 82,414 84,450 81,498 75,540 69,558 60,562 57,548 65,514 69,486 71,450 / "
            "38,490 42,506 46,532 51,550 47,564 38,568 32,556 30,534 33,510"
        ),
    }
)

BACK = MappingProxyType(
    {
        "neck": _pieces("3,98! 14,98 20,102 19,116 12,128 3,132!"),
        "trap_up": _pieces("3,137! 14,130 23,120 29,128 42,140 64,150 80,156 64,160 34,158 3,156!"),
        "trap_mid": _pieces("3,160! 34,163 62,166 74,166 65,173 46,178 28,186 16,192 3,194!"),
        "trap_low": _pieces("3,198! 18,195 21,204 18,228 12,258 3,284!"),
        "rhomb": _pieces("26,194 42,185 47,192 48,208 45,224 36,231 27,235 25,226 26,208"),
        "rot_cuff": _pieces("54,181 68,177 79,174 83,186 84,198 76,206 66,214 53,219 52,200"),
        "delt_post": _pieces("82,159 91,160 95,172 98,196 101,218 104,236 96,227 89,208 87,188 84,172"),
        "delt_lat": _pieces("98,164 106,172 111,186 114,208 118,234 119,246 112,240 106,218 102,192"),
        "lat": _pieces(
            "52,226 66,220 75,213 76,228 73,248 67,276 61,294 48,311 30,325 21,333 16,320 14,296 19,262 22,243 38,237"
        ),
        "erector": _pieces("3,294! 8,284 11,300 14,326 20,344 22,358 16,374 8,386 3,388!"),
        "obliques": _pieces("61,304 62,328 66,349 54,354 40,350 27,344 34,331 50,318"),
        "glute_med": _pieces("29,353 46,357 69,358 75,378 79,398 68,392 52,382 36,375 25,374"),
        "glute_max": _pieces("6,396! 20,381 36,381 54,388 70,398 81,410 82,430 70,445 48,452 24,450 10,438 6,420"),
        "hams": _pieces(
            "13,450 24,459 40,461 45,470 44,504 42,534 36,554 32,562 31,546 25,508 17,474 / "
            "50,461 68,454 81,446 82,470 79,510 72,548 68,564 62,560 54,536 49,504 49,480"
        ),
        "gastroc": _pieces(
            "37,590 46,584 51,594 52,626 51,662 45,684 39,678 34,660 33,634 34,608 / "
            "57,594 62,584 70,590 75,616 78,646 76,668 68,688 59,682 56,662 55,630"
        ),
        "soleus": _pieces("38,689 45,693 53,679 60,691 67,696 72,692 69,718 64,742 60,764 54,764 50,742 43,714"),
        "tri_long": _pieces("88,238 96,242 104,256 112,278 117,298 110,302 104,286 95,262"),
        "tri_latmed": _pieces("107,246 114,252 121,259 128,280 135,304 137,318 126,318 121,298 114,274"),
        "brachialis": _pieces("140,322 144,320 149,342 154,366 156,388 149,371 144,348"),
        "fore_ext": _pieces("119,330 128,326 135,346 143,368 153,392 158,414 158,429 150,431 142,410 131,378 121,348"),
    }
)

REGIONS = frozenset(FRONT) | frozenset(BACK)

# Open strokes, mirrored like the rest. The abdominal ones lie over the region; the others are jaw, kneecap
# and shin in front, fold of the knee and hair line behind.
ABDOMINAL_LINES = _pieces("3,277 29,277 / 3,307 28,307 / 3,337 26,337")
FRONT_LINES = _pieces("0,104 9,103 18,98 / 47,577 53,583 60,577 / 51,612 48,650 51,700 55,744")
BACK_LINES = _pieces("33,577 45,581 52,580 / 24,97 13,92 0,90")
