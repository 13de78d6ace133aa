"""How the kernel is loaded: late, compiled where possible, and with the same answers in plain Python."""

import subprocess
import sys

import numpy as np
import pytest

from roofwell.physics import compiled, network


def run_python(code):
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_numba_is_not_loaded_before_it_is_used():
    """Importing the network costs no compiler: papers and checks never wait for it."""
    assert run_python("import sys, roofwell.physics.network; print('numba' in sys.modules)") == "False"


def test_without_numba_the_same_functions_run_in_plain_python():
    """A machine that cannot have numba still answers."""
    code = """
import sys
sys.modules["numba"] = None
import numpy as np
from roofwell.physics import compiled, network
store = network.Store(np.array([0.0, 10.0]), np.array([1.0, 1.0]))
(trace,) = network.simulate([store], np.array([[4.0], [4.0], [0.0]]), step_s=4.0)
print(compiled.kernel().how, trace.volume_end_m3.round(9), trace.spilled_m3.round(9))
"""
    assert run_python(code) == "plain Python [10. 10.  6.] [ 2. 12.  0.]"


def test_without_a_cache_folder_it_is_compiled_all_the_same(monkeypatch):
    """Where nothing can be written, each program compiles for itself."""
    caching = pytest.importorskip("numba.core.caching")
    monkeypatch.setattr(caching.CacheImpl, "_locator_classes", [])
    assert compiled.kernel.__wrapped__().how == "compiled"


def systems():
    rng = np.random.default_rng(20260101)
    for _ in range(12):
        stores = []
        for i in range(3):
            nodes = np.concatenate([[0.0], np.cumsum(rng.uniform(0.5, 2.0, 4))])
            below = rng.uniform(0.0, 1.0, 5)
            capacity = rng.uniform(0.5, 3.0, 5) if i else None
            stores.append(network.Store(nodes, below + 0.1, below, capacity, i + 1 if i < 2 else None, 0.01))
        yield stores, rng.choice([0.0, 0.7, 1.9], (40, 3))


def test_plain_and_compiled_agree(monkeypatch):
    """The compiled kernel and plain Python give the same volumes and times."""
    for stores, inflow in systems():
        fast = network.simulate(stores, inflow, step_s=1.5)
        with monkeypatch.context() as patch:
            patch.setattr(compiled, "kernel", compiled.plain_kernel)
            slow = network.simulate(stores, inflow, step_s=1.5)
        for a, b in zip(fast, slow, strict=True):
            assert a.volume_end_m3 == pytest.approx(b.volume_end_m3, rel=1e-12, abs=1e-13)
            assert a.soaked_m3 == pytest.approx(b.soaked_m3, rel=1e-12, abs=1e-13)
            assert a.spilled_m3 == pytest.approx(b.spilled_m3, rel=1e-12, abs=1e-13)
            assert a.longest_wet_s == pytest.approx(b.longest_wet_s, rel=1e-12)
