# Two commands do everything: `make run` and `make test`.
PYTHON ?= python3
PORT ?= 8000
BIN := .venv/bin

.PHONY: run test docs setup setup-dev clean

run: setup
	$(BIN)/collop demo
	$(BIN)/collop serve --port $(PORT)

test: setup-dev
	scripts/test

docs: setup-dev
	$(BIN)/python scripts/site

setup: .venv/.run-ready
setup-dev: .venv/.dev-ready

.venv/.run-ready: requirements.lock pyproject.toml
	scripts/install $(PYTHON) requirements.lock
	@touch $@

.venv/.dev-ready: requirements-dev.lock pyproject.toml
	scripts/install $(PYTHON) requirements-dev.lock
	@touch $@ .venv/.run-ready

clean:
	rm -rf .venv .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
