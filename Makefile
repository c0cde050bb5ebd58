# Each word calls up.py, which sets the house up first if need be. More words: make test ARGS="tests/blend"
PYTHON ?= python3
ARGS ?=

.PHONY: demo shop test check measure soak reference lock
demo shop test check measure soak reference lock:
	@$(PYTHON) up.py $@ $(ARGS)
