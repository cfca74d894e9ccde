"""A publish that is killed at any moment leaves a whole site, and the next one works."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that can fork")
@pytest.mark.parametrize(
    ("way", "may_be_seen"),
    [
        ("exchange", {"old", "new"}),
        # Between the two renames there is no site until the next run, or any later one, puts the old one back.
        ("renames", {"old", "new", "none"}),
    ],
)
def test_a_publish_killed_at_any_act_leaves_a_whole_site(tmp_path: Path, way: str, may_be_seen: set[str]) -> None:
    """SIGKILL before each of its acts on the disk in turn; then one more publish, which leaves nothing behind."""
    if way == "exchange" and sys.platform != "linux":
        pytest.skip("the exchange is tried on Linux")
    places = os.pathsep.join([str(HERE.parent), os.environ.get("PYTHONPATH", "")])
    run = subprocess.run(
        [sys.executable, str(HERE / "cut_off.py"), str(tmp_path), way],
        env=os.environ | {"PYTHONPATH": places},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )

    assert run.returncode == 0, run.stderr
    outcomes = json.loads(run.stdout)
    assert len(outcomes) > 30, "a publish of these files does more acts than that"
    assert [outcome["killed"] for outcome in outcomes] == [True] * (len(outcomes) - 1) + [False]
    assert {outcome["site"] for outcome in outcomes} == may_be_seen
    assert outcomes[0]["site"] == "old"
    assert outcomes[-1]["site"] == "new"
    assert {outcome["again"] for outcome in outcomes} == {0}
    assert {outcome["site_again"] for outcome in outcomes} == {"next"}
    assert {tuple(outcome["left_again"]) for outcome in outcomes} == {("content", "site")}
    assert any(".site.basefog" in outcome["left"] for outcome in outcomes), "some left a folder to clear away"
