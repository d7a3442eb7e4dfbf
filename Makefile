.PHONY: setup check release
setup: ; python3 -m venv .venv && .venv/bin/python -m pip install --quiet -e ".[dev]"
check: ; .venv/bin/ruff check . && .venv/bin/ruff format --check . && .venv/bin/lint-imports && .venv/bin/mypy && .venv/bin/python -m pytest -q -n auto
release: ; bash .ci/release
