"""Moved to `wearlog.window.bench_keys`."""

from wearlog.window.bench_keys import BenchTick, EnterWalk, SpotsField, focus_is_within, put_focus

__all__ = ["BenchTick", "EnterWalk", "SpotsField", "focus_is_within", "put_focus"]
