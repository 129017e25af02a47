"""Coverage-guided fuzzing of everything that reads what people write; see DEVELOPERS.md.

    python tests/fuzz/fuzz_run.py TARGET --seconds 300 [--corpus FOLDER]

Cases that reach new code are kept in the corpus folder, so that a later run goes on from there. What must not
happen is shown with its traceback, once for each place in the code, and its case written to ``finding-...``;
put it into ``findings.yaml``, which the suite runs again. Needs ``pip install -e .[fuzz]``.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import resource
import sys
import tempfile
import traceback
from pathlib import Path

MEMORY = 3 * 2**30  # bytes of address space
LONGEST = 20  # seconds a case, for what never ends


def main() -> None:
    """Fuzz one target for some time."""
    import atheris

    with atheris.instrument_imports(include=["fitter"]):
        from fuzz_targets import TARGETS, hold

    options = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    options.add_argument("target", choices=TARGETS)
    options.add_argument("--seconds", type=int, default=300)
    options.add_argument("--corpus", type=Path, help="kept from run to run; a temporary one when left out")
    options.add_argument("--findings", type=Path, default=Path.cwd(), help="where findings are written")
    asked = options.parse_args()
    target = TARGETS[asked.target]
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    with tempfile.TemporaryDirectory(prefix="fuzz-") as work:
        folders = {name: Path(work, name) for name in ("case", "seeds", "elsewhere", "corpus")}
        for folder in folders.values():
            folder.mkdir()
        for number, seed in enumerate(target.seeds):
            (folders["seeds"] / f"{number}").write_bytes(seed)
        dictionary = Path(work, "words")
        dictionary.write_text("".join(f'"{_escaped(word)}"\n' for word in target.words), encoding="ascii")
        corpus = (asked.corpus or folders["corpus"]).resolve()
        corpus.mkdir(parents=True, exist_ok=True)
        findings = asked.findings.resolve()
        os.chdir(folders["elsewhere"])
        os.environ["FITTER_CACHE"] = "off"

        places: set[str] = set()

        def one(data: bytes) -> None:
            try:
                hold(target, data, folders["case"])
                assert not os.listdir("."), "written to the working folder"
            except BaseException as fault:  # a library may raise what is no Exception
                place = f"{type(fault).__name__} {traceback.extract_tb(fault.__traceback__)[-1]}"
                if place in places:
                    return
                places.add(place)
                traceback.print_exc()
                name = f"finding-{target.name}-{hashlib.sha256(data).hexdigest()[:12]}"
                (findings / name).write_bytes(data)
                print(f"FINDING {len(places)}: {findings / name}", flush=True)

        arguments = [
            sys.argv[0],
            f"-max_total_time={asked.seconds}",
            f"-max_len={target.longest}",
            f"-timeout={LONGEST}",
            f"-dict={dictionary}",
            f"-artifact_prefix={findings}/finding-{target.name}-",
            "-rss_limit_mb=2048",
            "-print_final_stats=1",
            str(corpus),
            str(folders["seeds"]),
        ]
        atheris.Setup(arguments, one)
        atheris.Fuzz()


def _escaped(word: str) -> str:
    return "".join(f"\\x{byte:02x}" for byte in word.encode())


if __name__ == "__main__":
    main()
