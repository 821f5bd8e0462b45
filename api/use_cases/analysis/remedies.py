"""The cheapest change that brings a finding under its limit, found by computing it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from api.mechanics.grip.friction import face_friction
from api.mechanics.whole.holding import Held, Piece, held
from api.mechanics.whole.planning import plan_of
from api.mechanics.whole.run import Solved
from api.mechanics.whole.tightening import repeated, targets_n
from api.use_cases.analysis.computing import Computed, readings_of
from api.use_cases.analysis.figures import limit_of
from api.use_cases.analysis.pieces import piece_of, tools_of
from api.use_cases.analysis.sentences import mm, percent, times
from api.use_cases.analysis.trials import Measure, Trial, Trials

ENOUGH_KEPT, ENOUGH_HOLD, MOST_PASSES, NOTICEABLE = 0.9, 2.0, 4, 0.02
NO_CHANGE = "no single change of torque, receivers or plate thickness tried here is enough; change the layout"
NO_KEEPING = (
    "no other order, more passes or locking first keeps more; let fewer clamps share a stop"
)


class Remedies:
    """Proposals for one computed design; what they need is computed when first asked for."""

    def __init__(self, done: Computed) -> None:
        self.done = done
        self.trials = Trials(done)

    def kept(self, found: Solved) -> list[float]:
        """Share of each clamp's force that is left after the passes."""
        forces = found.tightened.run.jack_n[-1]
        return [float(f) / float(t) for f, t in zip(forces, targets_n(found.assembly), strict=True)]

    def for_losses(self) -> str:
        """Another order, more passes, tightening the plate locked: what each would keep."""
        now = min(self.kept(self.done.found))
        options = [*self._other_order(), *self._more_passes(), *self._locked()]
        told = [words for words, kept in options if kept > now + NOTICEABLE]
        return ", or ".join(told) if told else NO_KEEPING

    def _other_order(self) -> list[tuple[str, float]]:
        found = self.done.found
        if found.plan.searched:
            return []
        plan = plan_of(found.response, found.assembly, found.tightened.bed, found.plan.shares, None)
        if plan.least_share <= found.plan.least_share + NOTICEABLE:
            return []
        names = [clamp.id for clamp in self.done.ground.design.clamps]
        order = ", ".join(names[k] for k in plan.order)
        return [
            (f"tighten in the order {order} (keeps {percent(plan.least_share)})", plan.least_share)
        ]

    def _more_passes(self) -> list[tuple[str, float]]:
        found = self.done.found
        for more in range(1, MOST_PASSES):
            kept = repeated(found.tightened, found.assembly, more)
            words = "add a pass" if more == 1 else f"add {more} passes"
            if kept >= ENOUGH_KEPT or more == MOST_PASSES - 1:
                return [(f"{words} at full torque (keeps {percent(kept)})", kept)]
        return []

    def _locked(self) -> list[tuple[str, float]]:
        return [
            (
                f"{trial.words} (keeps {percent(min(self.kept(trial.found)))})",
                min(self.kept(trial.found)),
            )
            for trial in self.trials.locked
        ]

    def for_point(self, k: int) -> str:
        """What brings the whole band of a reading within its limits."""
        point, band = self.done.ground.design.points[k], self.done.bands.readings
        zero, read = readings_of(self.done.ground.design)[k]
        low, usual, high = (float(values[k]) for values in (band.low, band.usual, band.high))

        def reading_m(found: Solved) -> float:
            return float(found.heights_m[read][k] - found.heights_m[zero][k])

        def enough(trial: Trial) -> bool:
            """The band keeps its width, in proportion to what the free plate bows."""
            value, wide = reading_m(trial.found), _free_bow(trial.found, k) / free
            return (
                value - wide * (usual - low) >= point.low_mm / 1e3
                and value + wide * (high - usual) <= point.high_mm / 1e3
                and self._grips(trial)
            )

        free = max(_free_bow(self.done.coarse, k), 1e-9)
        return self._told(enough, lambda found: abs(reading_m(found)), f"leaves {point.id} at")

    def for_seat(self, kind: str, allowed_um: float) -> str:
        def error_m(found: Solved) -> float:
            seated = self.trials.seats_of(found)
            return max(abs(float(getattr(seat, f"{kind}_m"))) for seat in seated)

        def enough(trial: Trial) -> bool:
            return error_m(trial.found) * 1e6 <= allowed_um and self._grips(trial)

        return self._told(enough, error_m, "leaves")

    def _told(self, enough: Callable[[Trial], bool], measure: Measure, leaves: str) -> str:
        fits = self.trials.first(enough)
        told = [f"{trial.words} ({leaves} {mm(measure(trial.found) * 1e6)})" for trial in fits[:3]]
        if not any("receivers" in words for words in told):
            best = self.trials.best_receivers(measure)
            if best is not None:
                better = f"{best.words} ({leaves} {mm(measure(best.found) * 1e6)})"
                told.append(better if told else f"{better}, which alone is not enough")
        return ", or ".join(told) if told else NO_CHANGE

    def _grips(self, trial: Trial) -> bool:
        """Whether the grip is no worse than it must be: it falls about as the force does."""
        overall = [held.margins.overall for held in self.done.holds if held is not None]
        return (
            min(overall, default=ENOUGH_HOLD) * trial.force_share >= 1.0 or trial.force_share == 1
        )

    def for_grip(self, weak: Held, margin: float) -> str:
        """More torque where the limits allow, a lighter cut, a face that bites."""
        if margin <= 0:
            return "support the part so that its clamp, stop and seat hold it even without a cut"
        wanted = 1.0 if margin < 1 else ENOUGH_HOLD
        told = [*self._more_torque(margin, wanted), *self._bite(weak), *self._lighter(weak, margin)]
        return ", or ".join(told[:3])

    def _more_torque(self, margin: float, wanted: float) -> list[str]:
        clamps = self.done.ground.design.clamps
        rooms = []
        for clamp in clamps:
            limit = limit_of(self.done.ground, clamp, self.done.found)
            rooms.append(float("inf") if limit is None else limit[0] / clamp.torque_nm)
        factor = wanted / margin
        if min(rooms) < factor:
            return []
        most = max(clamp.torque_nm for clamp in clamps) * factor
        return [f"raise the torque to {most:.3g} N·m ({times(wanted)})"]

    def _bite(self, weak: Held) -> list[str]:
        """A finely serrated stop, if it does better than the face there is."""
        k = next(k for k, one in enumerate(self.done.holds) if one is weak)
        station = self.done.ground.design.stations[k]
        ground, piece = self.done.ground, piece_of(self.done.ground, station)
        strength = ground.stores.materials[ground.design.part.material].yield_mpa * 1e6
        rough = _serrated(piece, face_friction("fine", strength).low)
        force = float(self.done.bands.least_link_n[k])
        better = held(rough, force, tools_of(ground, station))
        if better is None or better.margins.overall < 1.1 * weak.margins.overall:
            return []
        return [f"a finely serrated stop ({times(better.margins.overall)})"]

    def _lighter(self, weak: Held, margin: float) -> list[str]:
        cut = next(cut for cut in self.done.ground.design.cuts if cut.name == weak.tool)
        material = self.done.ground.stores.materials[self.done.ground.design.part.material]
        wanted = 1.0 if margin < 1 else ENOUGH_HOLD
        share = (margin / wanted) ** (1 / (1 - (material.mc or 0.25)))
        feed = cut.feed_per_tooth.mm * share
        depth = cut.depth.mm * margin / wanted
        slower = f"slower feed, {feed:.2g} mm a tooth"
        return [slower] if cut.kind == "drill" else [f"{slower}, or {depth:.2g} mm deep"]


def _free_bow(found: Solved, k: int) -> float:
    """How far the free plate bows at a point, either way."""
    lying, touched = found.heights_m["pressed lying"], found.heights_m["touched lying"]
    return abs(float(lying[k] - touched[k]))


def _serrated(piece: Piece, friction: float) -> Piece:
    faces = [
        face if face.pressed else replace(face, friction=max(face.friction, friction))
        for face in (piece.first, piece.second)
    ]
    return replace(piece, first=faces[0], second=faces[1])
