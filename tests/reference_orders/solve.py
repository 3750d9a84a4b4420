"""Makes up orders over suppliers and solves each with scipy.optimize.milp (the solver HiGHS); see README.md.

    python3 solve.py    # writes cases.txt beside it
"""

import random
from pathlib import Path

import numpy
import scipy
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix

SEED = 20_260_311


def solve(wants, terms):
    """The least cost, an integer, and None where nothing is feasible."""
    columns = [(thing, way) for thing, ways in enumerate(wants) for way in range(len(ways))]
    count, suppliers = len(columns), len(terms)
    paid, free = count, count + suppliers
    width = count + 2 * suppliers
    cost = numpy.zeros(width)
    upper = numpy.ones(width)
    # Scaled to whole minor units, so that the solver's tolerances suit.
    for at, (thing, way) in enumerate(columns):
        cost[at] = wants[thing][way][2] / 1000
    for s, (minimum, fee, free_from) in enumerate(terms):
        cost[paid + s] = fee or 0
        upper[free + s] = 0 if free_from is None else 1
    rows, low, high = [], [], []

    def row(entries, least, most):
        rows.append(entries)
        low.append(least)
        high.append(most)

    for thing, ways in enumerate(wants):
        row([(at, 1) for at, (t, _) in enumerate(columns) if t == thing], 1, 1)
    for s, (minimum, fee, free_from) in enumerate(terms):
        row([(paid + s, 1), (free + s, 1)], 0, 1)
        goods = []
        for at, (thing, way) in enumerate(columns):
            supplier, value, _ = wants[thing][way]
            if supplier == s and value > 0:
                row([(at, 1), (paid + s, -1), (free + s, -1)], -numpy.inf, 0)
                goods.append((at, value))
        floors = [(paid + s, -(minimum or 0)), (free + s, -max(minimum or 0, free_from or 0))]
        row(goods + floors, 0, numpy.inf)
    matrix = lil_matrix((len(rows), width))
    for n, entries in enumerate(rows):
        for at, value in entries:
            matrix[n, at] = value
    result = milp(
        cost,
        constraints=LinearConstraint(matrix.tocsr(), low, high),
        integrality=numpy.ones(width),
        bounds=Bounds(numpy.zeros(width), upper),
        options={"mip_rel_gap": 0, "time_limit": 120},
    )
    if result.status == 2:
        return None
    assert result.status == 0, result.message
    taken = [None] * len(wants)
    for at, (thing, way) in enumerate(columns):
        if result.x[at] > 0.5:
            assert taken[thing] is None
            taken[thing] = way
    return exact(wants, terms, taken)


def exact(wants, terms, taken):
    """What a choice costs by the rule itself; it must be feasible."""
    total, goods = 0, [0] * len(terms)
    for ways, way in zip(wants, taken):
        supplier, value, cost = ways[way]
        total += cost
        if supplier is not None:
            goods[supplier] += value
    for value, (minimum, fee, free_from) in zip(goods, terms):
        assert value == 0 or value >= (minimum or 0), (value, minimum)
        if value > 0 and (free_from is None or value < free_from):
            total += 1000 * (fee or 0)
    return total


def ways_of(rng, suppliers, like):
    """A thing's ways: packs of several sizes from some suppliers; what is more than is wanted is worth a part of its price."""
    bottle = rng.randint(600, 4200)
    wanted = rng.randint(1, like["wanted"])
    ways = []
    for s in rng.sample(range(suppliers), rng.randint(1, min(suppliers, like["from"]))):
        price = round(bottle * rng.uniform(0.94, 1.08))
        for pack in rng.sample([1, 2, 3, 6, 12], rng.randint(1, 2)):
            packs = -(-wanted // pack)
            off = 1 if pack == 1 else rng.uniform(0.93, 1)
            for more in range(rng.choice(like["more"]) + 1):
                pieces = (packs + more) * pack
                goods = round(pieces * price * off)
                left = pieces - wanted
                holding = left * price * rng.choice(like["holding"])
                ways.append((s, goods, 1000 * goods - 1000 * left * price + holding))
    if rng.random() < like["nothing"]:
        # Not ordering has a price as well: what may be missed.
        ways.append((None, 0, round(1000 * wanted * bottle * rng.choice(like["missed"]))))
    if rng.random() < like["given"]:
        ways.append((rng.randrange(suppliers), 0, 1000 * bottle))
    rng.shuffle(ways)
    return ways


USUAL = {
    "wanted": 9,
    "from": 4,
    "more": [0, 1, 1, 2],
    "holding": [8, 15, 25, 40, 90],
    "nothing": 0.3,
    "missed": [0.01, 0.05, 0.3, 1.5],
    "given": 0.02,
}


def asked(rng, wants, s, minimum, fee, free_from):
    """Terms of a supplier; amounts are parts of what could be ordered of it at most."""
    most = sum(max((w[1] for w in ways if w[0] == s), default=0) for ways in wants)

    def part(of):
        return None if of is None else round(most * rng.uniform(*of) / 500) * 500

    return (part(minimum), None if fee is None else rng.randint(*fee), part(free_from))


def small(rng, suppliers):
    """Costs and goods of a few values each, so that much is tied."""
    ways = []
    for s in rng.sample(range(suppliers), rng.randint(1, suppliers)):
        for goods in rng.sample(range(5), rng.randint(1, 2)):
            ways.append((s, goods, 1000 * rng.randint(0, 6)))
    if rng.random() < 0.3:
        ways.append((None, 0, 1000 * rng.randint(0, 9)))
    return ways


# Sort, how many, things, suppliers, what the things are like, terms as parts of all goods (minimum, fee, free from).
SORTS = [
    ("no terms", 10, (1, 60), (1, 8), {}, (None, None, None)),
    ("minimums that bind", 45, (5, 60), (1, 6), {}, ((0.2, 0.6), None, None)),
    ("high minimums", 25, (5, 40), (2, 5), {}, ((0.5, 0.95), None, None)),
    ("fees", 20, (1, 60), (1, 8), {}, (None, (300, 4000), None)),
    ("fees with a free delivery", 50, (5, 60), (1, 8), {}, (None, (300, 4000), (0.1, 0.6))),
    ("all terms", 60, (5, 60), (2, 8), {}, ((0.1, 0.4), (300, 4000), (0.2, 0.7))),
    ("free below the minimum", 15, (5, 40), (1, 6), {}, ((0.3, 0.6), (300, 4000), (0.05, 0.3))),
    ("little urgent", 35, (5, 60), (1, 6), {"nothing": 0.9, "missed": [0.001, 0.005, 0.02]}, ((0.1, 0.5), (300, 3000), (0.3, 0.6))),
    ("not worth an order", 20, (3, 20), (2, 6), {"nothing": 1, "missed": [0.01, 0.03]}, ((0.3, 0.6), (3000, 20000), (0.7, 0.9))),
    ("out of reach", 20, (2, 20), (2, 6), {"nothing": 0.8}, ((0.7, 1.6), (300, 3000), (0.8, 2.0))),
    ("nearly all alike", 30, (10, 60), (2, 4), {"more": [2, 3], "holding": [20, 21, 22], "from": 3}, ((0.3, 0.6), (300, 900), (0.5, 0.8))),
    ("stock worth its price", 15, (5, 40), (1, 4), {"holding": [0], "more": [1, 2, 3]}, ((0.3, 0.7), (300, 900), (0.5, 0.9))),
    ("impossible", 15, (2, 12), (1, 4), {"nothing": 0}, ((0.6, 1.3), None, None)),
    ("ties", 40, (1, 14), (1, 5), None, None),
]


def cases():
    rng = random.Random(SEED)
    for sort, count, things, suppliers, like, terms in SORTS:
        for _ in range(count):
            # Small orders more often than large ones.
            n, k = min(rng.randint(*things), rng.randint(*things)), rng.randint(*suppliers)
            if like is None:
                wants = [small(rng, k) for _ in range(n)]
                some = [None, 0, 1, 3, 5, 8, 12]
                yield sort, wants, [(rng.choice(some), rng.choice([None, 0, 1, 2, 4]), rng.choice(some)) for _ in range(k)]
                continue
            wants = [ways_of(rng, k, {**USUAL, **like}) for _ in range(n)]
            # One supplier in six asks for nothing.
            yield sort, wants, [asked(rng, wants, s, *terms) if rng.random() > 1 / 6 else (None, None, None) for s in range(k)]


def cell(value):
    return "-" if value is None else str(value)


def main():
    # Not to standard output: the solver prints to it now and then.
    with open(Path(__file__).with_name("cases.txt"), "w", encoding="ascii", newline="\n") as out:
        print(f"# Made by solve.py with scipy {scipy.__version__}; see README.md.", file=out)
        for number, (sort, wants, terms) in enumerate(cases(), 1):
            print(f"case {number} {sort}", file=out)
            for amounts in terms:
                print("supplier", *map(cell, amounts), file=out)
            for ways in wants:
                print("thing", *(":".join(map(cell, way)) for way in ways), file=out)
            print("cost", cell(solve(wants, terms)), file=out)


if __name__ == "__main__":
    main()
