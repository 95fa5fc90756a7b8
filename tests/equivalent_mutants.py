"""Changes of the program that nobody can notice, and why; `mutate.py` leaves them out.

A key is a module and the line as it becomes; spaces do not count.
"""

EQUIVALENT: dict[tuple[str, str], str] = {
    ("solve/bands/wrap.py", "lies = edges[:, 1] > 0"): "node 0 is a corner, never a mid-side node",
    ("solve/bands/wrap.py", "for r, w in zip(*gauss(3), strict=True):"):
        "an edge turns by 20 degrees at most: a point less changes the last digits alone",
    ("solve/mesh/size.py", "n = max(0, int(np.ceil(2 * np.hypot(*(b - a)) / h - 1e-6)))"):
        "a stretch has a length: the right side is 1 already",
    ("solve/mesh/sharp_corners.py", "far = np.array([3 * reach[a] for a in apexes.tolist()])"):
        "a line farther away than twice the reach does not shorten it",
    ("solve/mesh/triangulate.py", "_PASSES = 5"): "a limit that good meshes stay below",
    ("solve/contact/solution.py", "for share in np.arange(0, LOAD_STEPS + 1) / LOAD_STEPS:"):
        "a share of nothing moves nothing",
    ("study/plan/study.py",
     'text = json.dumps(value, sort_keys=False, separators=(",", ":"), default=str)'):
        "the model of the mold file puts its keys in one order already",
    ("solve/mesh/graph.py", "if long.any() and halvings <= MOST_HALVINGS:"):
        "a limit that outlines stay below",
    ("solve/bands/outline_forces.py",
     "near = (int(np.argmin(away)) + np.arange(-2, 2)) % len(x)"
     "  # a place may lie just over the end"):
        "one edge more is looked at, and the nearest place is taken as before",
    ("solve/accuracy/refined.py",
     "widest = max((land.largest_gap_mm for land in closing.lands), default=-1.0)"):
        "without a land the least gap that counts is larger than either",
    ("solve/large/change.py", "bubble = np.matmul(elastic.bubble, local)[..., -1]"):
        "the axis has one place",
    ("verdict/cause/pull.py", "if clamp < lifts:"): "of equal forces both sentences are true",
    ("verdict/head/symptom.py",
     "if flash.to_clean_mm is not None or flash.parting_line_mm is not None:"):
        "the one is known where the other is",
    ("solve/large/faces/gap.py",
     'mixed = np.einsum("ks,kcd,ku->kscud", self._own, M, self.across, optimize=False)'):
        "the same sum in another order",
    ("study/plan/sections.py", 'return bare | {"length_mm": 101.0}'):
        "any length does that is the same for all cases",
    ("verdict/advice/cut.py", 'sense = "counter-clockwise" if angle > -1 else "clockwise"'):
        "a cut is turned by 15 degrees or more, either way",
    ("verdict/cause/pull.py",
     "top = max((float(land.pressure_kpa.max()) for land in closing.lands), default= -1.0)"):
        "without a land there is no leak that is compared with it",
    ("verdict/uncertainty/varied_closings.py", "stiff, own = 2.0, block"):
        "no variation has rubber twice as stiff, so the first one takes its own block as before",
    ("verdict/uncertainty/varied_closings.py", "stiff, own = 0.0, block"):
        "no variation has rubber of no stiffness, so the first one takes its own block as before",
    ("solve/mesh/meetings.py", "near = loop.edges.nearest(piece.at(np.linspace(*part, 6)))"):
        "the whole stretch lies on one piece of the loop: one place more finds the same",
    ("solve/mesh/meetings.py", "near = loop.edges.nearest(piece.at(np.linspace(*part, 4)))"):
        "the whole stretch lies on one piece of the loop: one place less finds the same",
    ("solve/mesh/size.py", "is_aslant = abs(cosine) >= np.sin(np.radians(ASLANT_DEG))"):
        "of the cosine of an angle, which is never the limit to the last digit",
    ("solve/bands/wrap.py", "EVEN = BandFriction(0.0, 1.0)"):
        "without friction it is all one where the band was pulled",
    ("solve/bands/wrap.py", "EVEN = BandFriction(0.0, -1.0)"):
        "without friction it is all one where the band was pulled",
    ("solve/mesh/loops.py",
     "at = tuple(piece.nearest(p) for p in self._places(chain)) if len(chain) >= 2 else at"):
        "of a chain of two nodes the ends of its part are recorded, whatever stands here",
    ("solve/along/surface.py", "FAR = 11.0"):
        "of a wave at that depth less is left than the mesh makes by rounding",
    ("solve/along/surface.py", "FAR = 13.0"):
        "of a wave at that depth less is left than the mesh makes by rounding",
    ("verdict/seal/leak.py",
     "nodes = {node for node in ends(parts[path[ -1]]) if not node.terminal}"):
        "the path has one part yet, so its first is its last",
    ("verdict/words.py", "return round(value * MM_PER_INCH, 8) if inches else value"):
        "nobody types a length to a hundred-millionth of a millimetre",
    ("verdict/seal/barrier.py", "elif a > 0 >= b:"):
        "where both are nought or more the branch before has taken them",
    ("verdict/seal/barrier.py",
     "begin = s + (t - s) * a / (a - b) if a <= 0 < b else None"):
        "where both are nought or more the first branch has taken them",
    ("verdict/seal/barrier.py", "if not high >= 0:"):
        "a pressure of nothing is halved down to nothing",
    ("verdict/seal/barrier.py", "for _ in range(39):"): "a halving changes the last digits alone",
    ("verdict/seal/barrier.py", "for _ in range(41):"): "a halving changes the last digits alone",
    ("verdict/seal/barrier.py", "if len(pair) >= 2:"):
        "the first two that are joined end the search, so there are never three",
    ("verdict/air/flood.py", "offsets = np.indices((2 * reach + 2,) * void.ndim) - reach"):
        "the places more lie outside of the ball",
    ("verdict/casting/flash.py",
     "used, drag = spent(s, film, drag) if len(s) >= 1 else (np.zeros(len(s)), drag)"):
        "at one place nothing is spent, whoever says so",
}  # fmt: skip

LIMITS: dict[str, tuple[str, ...]] = {
    "solve/mesh/triangulate.py": ("MOST_CORNERS",),
    "solve/along/plane.py": ("MOST_PRODUCTS",),
    "solve/along/stations.py": ("MOST_FACTORISED",),
    "solve/along/section_mesh.py": ("MOST_ENTRIES",),
    "solve/accuracy/refined.py": ("MOST_WORK", "MOST_WORK_IN_ALL", "MOST_UNKNOWNS"),
    "verdict/uncertainty/ranges.py": ("MOST_WORK",),
    "verdict/advice/bands.py": ("MOST_WORK",),
    "verdict/advice/trial.py": ("MOST_MESHED", "MOST_WORK"),
    "verdict/bands/layout_trials.py": ("MOST_HEAD_WORK",),
    "verdict/air/void.py": ("MOST_PLACES",),
    "verdict/air/remedy.py": ("MOST_TRIED",),
}
"""Limits of work and memory, in thousands, by module: nobody notices one more or one less."""
