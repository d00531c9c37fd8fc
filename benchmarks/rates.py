"""How fast a whole hospital's posts are drawn: 200 areas, 8 roles, 20,000 draws.

    python benchmarks/rates.py

Prints figures, passes or fails nothing. The aim: at most 5 s, and within 3 times the bare random numbers,
which are the same gamma draws, one call a post, with nothing done to them. Times are of this process alone,
since others may be busy on the machine; the wall clock is printed too.
"""

import random
import tracemalloc
from collections.abc import Callable
from time import perf_counter, process_time

import numpy as np

from thenar.exposure.hospital_draws import Post, draw_hospital
from thenar.exposure.load_chances import Limit
from thenar.exposure.rates import Rate
from thenar.exposure.sessions import Quantity, Seen

AREAS = 200
ROLES = 8
DRAWS = 20_000
SEED = 20261125
LIMIT = Limit("fifteen washes", Quantity.WASHES, ">=", 15)


def random_posts() -> list[Post]:
    """Posts watched from half an hour to forty hours, washing half to five times an hour."""
    draw = random.Random(SEED)
    posts = []
    for area in range(AREAS):
        for role in range(ROLES):
            hours = draw.uniform(0.5, 40)
            count = round(hours * draw.uniform(0.5, 5))
            rate = Rate(Quantity.WASHES, "early", Seen(count, hours), count + 2.0, hours + 1.0)
            posts.append(Post(f"area {area:03}", f"role {role}", [(rate, 8.0)]))
    return posts


def bare(posts: list[Post]) -> None:
    """The random numbers alone."""
    stream = np.random.default_rng(SEED)
    for post in posts:
        stream.standard_gamma(post.worked[0][0].shape, DRAWS)


def timed(run: Callable[[], object]) -> tuple[float, float]:
    """Seconds of this process and of the clock, the best of three rounds."""
    best = (float("inf"), float("inf"))
    for _ in range(3):
        clock, own = perf_counter(), process_time()
        run()
        best = min(best, (process_time() - own, perf_counter() - clock))
    return best


def main() -> None:
    posts = random_posts()
    own, clock = timed(lambda: draw_hospital(posts, LIMIT, draws=DRAWS, seed=SEED))
    bare_own, _ = timed(lambda: bare(posts))
    tracemalloc.start()
    hospital = draw_hospital(posts, LIMIT, draws=DRAWS, seed=SEED)
    _, most = tracemalloc.get_traced_memory()
    expected, lower, upper = hospital.posts_over
    print(f"posts x draws                {len(posts):8,} x {DRAWS:,}")
    print(f"whole hospital               {own:8.2f} s ({clock:.2f} s by the clock)")
    print(f"bare random numbers          {bare_own:8.2f} s")
    print(f"times the bare numbers       {own / bare_own:8.2f}")
    print(f"most memory held             {most / 1e6:8.1f} MB")
    print(f"posts over the limit         {expected:8.1f} ({lower:.0f} to {upper:.0f})")


if __name__ == "__main__":
    main()
