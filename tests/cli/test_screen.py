"""What commands print with: stdout holds the answer and nothing else."""

import subprocess
import sys

import pytest

from seedbank.cli.screen import table

CHATTY = """
import ctypes
from seedbank.cli.screen import bar
library = ctypes.CDLL(None)
with bar("Weighing"):
    library.printf(b"%s", b"a library's own line\\n")
print('{"answer": 1}')
library.printf(b"%s", b"afterwards\\n")
library.fflush(None)
"""


def test_what_a_library_prints_by_itself_does_not_mix_with_the_answer() -> None:
    # Outside check: a C library printing through C's own buffered stdout, as HiGHS does.
    done = subprocess.run(
        [sys.executable, "-u", "-c", CHATTY], capture_output=True, text=True, check=True
    )
    assert done.stdout == '{"answer": 1}\nafterwards\n'
    assert "a library's own line" in done.stderr


def test_a_process_without_stdout_still_works() -> None:
    code = "import os; os.close(1)\nfrom seedbank.cli.screen import bar\nwith bar('x'): pass\n"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert "OSError" not in done.stderr.split("Exception ignored")[0]


@pytest.mark.parametrize("columns", ["30", "60", "80", "120"])
def test_nothing_of_a_table_is_cut_off_however_narrow_the_screen(
    columns: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    row = (
        "Loftcott Silverspine (chard)",
        "none",
        "Grow for seed",
        "HKR72",
        "1,290",
        "98 %",
        "91 %",
    )
    table(("variety", "keepers", "do", "lot", "seeds", "chance", "in-a-year"), [row], numbers=3)
    said = capsys.readouterr().out
    assert "…" not in said
    assert all(word in said for word in ("HKR72", "1,290", "98 %", "91 %"))
    letters = sorted("".join(said.split("─")[-1].split()))
    assert letters == sorted("".join(row).replace(" ", ""))
