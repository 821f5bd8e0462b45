"""An independent solid model, for reference results: `python -m tests.bench.solid [CASE ...]`.

Three-dimensional linear elasticity of a plate with bars fused on top, on 20-node bricks: nothing
is shared with the plate model it checks. Each case takes up to a minute or two on two cores
(set OMP_NUM_THREADS=2) and writes tests/vectors/solid/CASE.json: its whole description, its
deflections in every state, and what its contact carries. Run by hand, when a case is added or
changed; the tests of the plate model read the files. With `--mesh 7` it prints the results of a
finer mesh and keeps nothing: compare them with the kept ones to see what the mesh leaves open.

To add a case, write a function in cases.py that returns a `Case` (case.py says what it is made
of) and name it in CASES. Pushes come in pairs that balance: the free plate has no supports. All
edges of bars and pockets become mesh lines, so keep them some millimetres apart. The mesh is cut
in slices across x: let x be the long side.
"""
