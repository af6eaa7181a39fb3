"""Problems nobody would write: worked examples bent in every way, and what may come of them.

A problem ends well in two ways: with a plan that is valid against the published schema of its
plan, or with a `CollopError` that is one plain sentence.  All else is a finding.
"""

from __future__ import annotations

import copy
import importlib
import json
import math
import re
import signal
import warnings
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random

from jsonschema import Draft202012Validator

from collop.errors import CollopError

EXAMPLES = Path(__file__).resolve().parents[2] / "docs/examples"
#: Processor time that one problem may take.
MOST_SECONDS = 20
_LONGEST_SENTENCE = 400
_VAST = 400_000

#: Each kernel by the name of its command: where it is, how many of a hundred thousand problems
#: it gets (those that solve programs are slow), and its command if that is not its name.
KERNELS = {
    "spread": ("collop.spread:answer", 1_500),
    "cuttingtest": ("collop.carcass.cuttingtest_costing:cuttingtest", 5_000),
    "yields": ("collop.carcass.combining:combine_yields", 5_000),
    "balance": ("collop.carcass.reconciling:reconcile", 5_000),
    "drift": ("collop.carcass.drifting:drift", 5_000),
    "freezer": ("collop.carcass.freezer:freezer_order", 1_500),
    "styles": ("collop.carcass.problems:styles_plan", 4_000),
    "yieldgrade": ("collop.carcass.problems:yield_grade_plan", 3_000),
    "takehome": ("collop.carcass.problems:take_home_plan", 3_000),
    "whole": ("collop.chalk:whole", 5_000),
    "markdown": ("collop.chalk:markdown", 5_000),
    "allocate": ("collop.chalk.allocating:allocate", 5_000),
    "putout": ("collop.chalk.putting_out:putout", 3_000),
    "chalk": ("collop.chalk.equation_plan:chalk", 4_000),
    "clearing": ("collop.chalk:clearing", 2_000),
    "demand": ("collop.chalk:demand", 4_000),
    "counting": ("collop.chalk.counting:counting", 4_000),
    "buying": ("collop.chalk.buying:buying", 4_000),
    "bench": ("collop.bench:bench", 1_500),
    "benches": ("collop.bench.many:plan_many", 1_500),
    "farmcall": ("collop.bench.farmcall:farmcall", 1_500),
    "blend": ("collop.bench.blend:blend", 3_000),
    "replay": ("collop.bench.replaying:replay", 4_000),
    "lethality": ("collop.fire.lethality_plan:lethality", 3_000),
    "heat": ("collop.fire.heat:heat", 1_500),
    "fire": ("collop.fire:fire", 1_500),
    "ticket": ("collop.ticket:ticket", 4_000),
    "netweight": ("collop.rules.netweight:netweight", 3_000),
    "till": ("collop.rules.till:till", 3_000),
    "appetite": ("collop.spread.appetites:appetite", 4_000),
    "pace": ("collop.chalk.pace:pace", 3_500),
}
#: Values that a key does not expect.
_ODD = (
    None, True, False, 0, -1, 1, 2, 0.5, -0.0, 1e308, -1e308, 1e-320, 10**30, -(10**30), 2**53,
    "", " ", "0", "-0", "-1", "1", "0.00", "0.005", "99999999", "1e9", "1e999999", "1e-999999",
    "-1e-999999", "NaN", "Infinity", "-inf", "nan", "1.5", "12.345678901", "1" * 25, "1" * 5000,
    "0." + "0" * 30 + "1", "1_000", "\N{ARABIC-INDIC DIGIT THREE}", "\N{SUPERSCRIPT TWO}", "0x10",
    "lb", "kg", "oz", "g", "USD", "JPY", "BHD", "usd", "XXX", "2026-02-30", "2026-06-12",
    "9999-12-31", "0001-01-01", "2026-06-12T24:00", "2026-06-12 18:30+09:00", "18:30", "24:00",
    "a", "a" * 10_000, "\0", "a\nb", "a\u2028b", "\u202e", "\ud800", "\U0001f404", "<b>", "'; --",
    "$.groups[0]", "__class__", "{}", "%s", "{0}", [], {}, [None], [[]], [{}], {"": ""},
    {"a": None}, ["a", "a"], [0] * 50,
)  # fmt: skip
#: What a caller of the kernel itself may hand it, which no JSON says.
_NO_JSON = (math.nan, math.inf, -math.inf, b"1", (1, 2), {1: 2}, {"a"}, object(), 1 + 2j)
_SAID_TO_A_PROGRAMMER = re.compile(
    r"Traceback|<class|<function|object at 0x|Error\(|Decimal\(|Fraction\(|Something broke|"
    r"NoneType|unhashable|not supported between|collop\.[a-z]+\."
)


class TooLong(Exception):
    """A problem took more processor time than it may."""


@dataclass(frozen=True, slots=True)
class End:
    """How one problem ended: plan, refused, or a finding with what was found."""

    kind: str
    said: str = ""

    @property
    def is_finding(self):
        """Tell whether it may not end so."""
        return self.kind not in {"plan", "refused"}


@cache
def kernel_of(name):
    """Return the function that answers problems of a command."""
    module, _, function = KERNELS[name][0].partition(":")
    return getattr(importlib.import_module(module), function)


@cache
def schemas_of(name):
    """Return the schema of a problem and the validator of its plan."""
    from collop.cli.asks import _SCHEMA_MODULES

    schemas = importlib.import_module(_SCHEMA_MODULES[name]).SCHEMAS
    return schemas[name], Draft202012Validator(schemas[f"{name}.plan"])


@cache
def seeds_of(name):
    """Return the worked examples of a command."""
    paths = [path for pattern in (f"{name}.json", f"{name}-*.json", f"{name}.refused.json",
             f"carcass-{name}.json") for path in sorted(EXAMPLES.glob(pattern))
             if ".plan." not in path.name]  # fmt: skip
    return tuple(json.loads(path.read_text(encoding="utf-8")) for path in paths)


def problem_of(name, number):
    """Return problem `number` of a command; the same each time.

    A quarter is bent gently (figures moved, keys dropped, lines repeated), so that it is often
    solved; a quarter is made anew from the schema; the rest is bent hard.
    """
    random = Random(f"{name} {number}")
    seed = _copied(random.choice(seeds_of(name)))
    how = random.randrange(4)
    if how == 0:
        for _ in range(random.randrange(1, 5)):
            _gently(seed, random)
        return seed
    if how == 1:
        made = from_schema(schemas_of(name)[0], random, pool_of(name))
        if random.random() < 0.5:
            made = _grafted(seed, made, random)
        return made
    for _ in range(random.choice((1, 1, 1, 2, 3, 6))):
        seed = _hard(seed, random)
        if _is_vast(seed):
            return {"lines": [[0] * 1_000] * 200}
    return seed


def _is_vast(value):
    """Tell whether so many lines were repeated in repeated lines that memory would not hold it."""
    left, count = [value], 0
    while left and count < _VAST:
        one = left.pop()
        if isinstance(one, dict | list):
            left += one.values() if isinstance(one, dict) else one
            count += len(one)
    return count >= _VAST


def text_of(name, number):
    """Return problem `number` of a command as text, now and then no JSON at all."""
    try:
        text = json.dumps(_plain(problem_of(name, number)))
    except RecursionError:
        text = '{"parts": ' * 2_000
    random = Random(f"text {name} {number}")
    if random.random() < 0.8:
        return text
    cut = random.randrange(len(text) + 1)
    return random.choice((
        text[:cut], text[:cut] + random.choice('{}[]",:\0\\ue9') + text[cut:],
        text[:cut] + "NaN" + text[cut:], "[" * 100_000, '{"a":' * 100_000, text + text, "",
        text.replace("{", '{"schema": 1, "schema": 2, ', 1), "\ufeff" + text, "9" * 5000,
        '{"a": 1e999}', '{"a": -Infinity}', "null", '"\\ud800"',
    ))  # fmt: skip


def _plain(value):
    """Return a value with what no JSON says put as text."""
    if isinstance(value, dict):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    is_json = value is None or isinstance(value, bool | int | str)
    is_json = is_json or (isinstance(value, float) and math.isfinite(value))
    return value if is_json else type(value).__name__


def _copied(value):
    """Return a copy; what is nested too deeply to be copied, itself."""
    try:
        return copy.deepcopy(value)
    except RecursionError:
        return value


def _places(value):
    """Return the path of every value inside: the first two thousand, not in the very depth."""
    found, left = [], [((), value)]
    while left and len(found) < 2_000:
        path, one = left.pop()
        if path:
            found.append(path)
        if isinstance(one, dict | list) and len(path) < 40:
            inner = one.items() if isinstance(one, dict) else enumerate(one[:2_000])
            left += [((*path, key), inside) for key, inside in inner]
    return found


def _holder(value, path):
    for key in path[:-1]:
        value = value[key]
    return value


def _hard(problem, random):
    """Return a problem with one thing done to it that a person might not think of."""
    places = _places(problem)
    if not places or random.random() < 0.01:
        return random.choice((*_ODD, *_NO_JSON))
    path = random.choice(places)
    held, key = _holder(problem, path), path[-1]
    _BEND[random.randrange(len(_BEND))](problem, held, key, random)
    return problem


def _odd(_problem, held, key, random):
    held[key] = _copied(random.choice(_NO_JSON if random.random() < 0.05 else _ODD))


def _nudged(_problem, held, key, random):
    held[key] = _moved(held[key], random)


def _gone(_problem, held, key, _random):
    del held[key]


def _swapped(problem, held, key, random):
    held[key] = _copied(_at(problem, random.choice(_places(problem))))


def _at(problem, path):
    return _holder(problem, path)[path[-1]]


def _added(_problem, held, _key, random):
    odd = _copied(random.choice(_ODD))
    if isinstance(held, dict):
        held[random.choice(("zzz", "", "by", "\0", "$ref", "name", "id", "__proto__"))] = odd
    else:
        held.insert(random.randrange(len(held) + 1), odd)


def _repeated(_problem, held, key, random):
    """Repeat one line of a list; as one and the same id, or as very many."""
    if not isinstance(held, list):
        held = next((one for one in held.values() if isinstance(one, list) and one), [0])
        key = 0
    times = random.choice((1, 1, 2, 30, 3_000, 12_000))
    held += [_copied(held[key]) if times < 100 else held[key]] * times


def _deep(_problem, held, key, random):
    deep = held[key]
    for _ in range(random.choice((2, 50, 900, 5_000))):
        deep = [deep] if random.random() < 0.5 else {"parts": deep, "name": "a"}
    held[key] = deep


_BEND = (_odd, _odd, _odd, _nudged, _nudged, _gone, _swapped, _added, _repeated, _deep)


def _gently(problem, random):
    """Move a figure, drop a key, take out or repeat a line: often it can still be solved."""
    places = [path for path in _places(problem) if path[-1] != "schema"]
    if not places:
        return
    path = random.choice(places)
    held, key = _holder(problem, path), path[-1]
    how = random.random()
    if how < 0.75:
        held[key] = _moved(held[key], random)
    elif how < 0.87 or isinstance(held, dict):
        del held[key]
    else:
        again = _copied(held[key])
        if isinstance(again, dict):
            for name in ("id", "name", "key"):
                if isinstance(again.get(name), str):
                    again[name] += "x"
        held.append(again)


def _moved(value, random):
    """Return a figure, a text of a figure or a list that is a little other."""
    factor = random.choice((0, 0.01, 0.5, 0.9, 0.999, 1.001, 1.1, 2, 10, 1000, -1))
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return value + random.choice((-2, -1, 1, 2, 10, 100)) if factor else int(value * 7)
    if isinstance(value, float):
        return value * factor
    if isinstance(value, str) and re.fullmatch(r"-?[0-9]{1,9}(\.[0-9]{1,9})?", value):
        places = len(value.partition(".")[2])
        return f"{float(value) * factor:.{random.choice((places, places, 3))}f}"
    if isinstance(value, list):
        return random.sample(value, random.randrange(len(value) + 1))
    return value


@cache
def pool_of(name):
    """Return the texts and figures of the worked examples by the key that holds them."""
    pool = {}
    for seed in seeds_of(name):
        for path in _places(seed):
            value = _at(seed, path)
            if not isinstance(value, dict | list):
                key = next((one for one in reversed(path) if isinstance(one, str)), "")
                pool.setdefault(key, []).append(value)
    return pool


def from_schema(schema, random, pool, *, key="", root=None, depth=0):
    """Return a value that the schema of a problem lets through, as far as this reads schemas.

    Half of the texts and figures are those of the worked examples under the same key.
    """
    root = root or schema
    if "$ref" in schema:
        target = root
        for step in schema["$ref"].removeprefix("#/").split("/"):
            target = target[step]
        return from_schema(target, random, pool, key=key, root=root, depth=depth)
    for choice in ("anyOf", "oneOf"):
        if choice in schema:
            one = random.choice(schema[choice])
            merged = {**{k: v for k, v in schema.items() if k != choice}, **one}
            return from_schema(merged, random, pool, key=key, root=root, depth=depth)
    if "const" in schema:
        return schema["const"]
    if "enum" in schema:
        return random.choice(schema["enum"])
    kind = schema.get("type", "string")
    kind = random.choice(kind) if isinstance(kind, list) else kind
    if kind in {"object", "array"}:
        make = _made_object if kind == "object" else _made_array
        return make(schema, random, pool, key=key, root=root, depth=depth)
    if key in pool and random.random() < 0.6:
        return random.choice(pool[key])
    return _made_plain(schema, kind, random)


def _made_object(schema, random, pool, *, key, root, depth):
    needed = set(schema.get("required", ()))
    made = {}
    for name, inner in schema.get("properties", {}).items():
        if name in needed or random.random() < (0.5 if depth < 5 else 0.1):
            made[name] = from_schema(inner, random, pool, key=name, root=root, depth=depth + 1)
    further = schema.get("additionalProperties")
    if isinstance(further, dict):
        for _ in range(random.randrange(max(schema.get("minProperties", 0), 1), 4)):
            name = random.choice([str(one) for one in pool.get("id", pool.get("name", "abc"))])
            made[name] = from_schema(further, random, pool, key=key, root=root, depth=depth + 1)
    return made


def _made_array(schema, random, pool, *, key, root, depth):
    least = schema.get("minItems", 0)
    most = min(schema.get("maxItems", 6), least + (4 if depth < 6 else 0))
    return [from_schema(schema.get("items", {}), random, pool, key=key, root=root, depth=depth + 1)
            for _ in range(random.randint(least, max(most, least)))]  # fmt: skip


def _made_plain(schema, kind, random):
    if kind == "boolean":
        return random.random() < 0.5
    if kind in {"integer", "number"}:
        low = schema.get("minimum", schema.get("exclusiveMinimum", -5))
        high = min(schema.get("maximum", low + 50), low + random.choice((3, 50, 10**6)))
        chosen = random.choice((low, high, random.uniform(low, high)))
        return int(chosen) if kind == "integer" else chosen
    if kind == "null":
        return None
    if "pattern" in schema:
        return random.choice((
            "4", "12.50", "0.125", "3", "2026-06-12", "18:30", "2026-06-12T18:30", "USD", "a",
            f"{random.uniform(0, 500):.2f}", f"{random.uniform(0, 5):.3f}",
        ))  # fmt: skip
    most = schema.get("maxLength", 12)
    return random.choice(("a", "b", "chuck", "Loin, top", "x" * most))


def _grafted(seed, made, random):
    """Return an example with one of its keys taken from a made problem."""
    if isinstance(made, dict) and made:
        key = random.choice(list(made))
        seed[key] = made[key]
    return seed


@contextmanager
def _watched(seconds):
    def stop(_signal, _frame):
        raise TooLong

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def end_of(name, problem):
    """Return how a problem ends in the kernel itself."""
    try:
        with warnings.catch_warnings(), _watched(MOST_SECONDS):
            warnings.simplefilter("error")
            plan = kernel_of(name)(problem)
    except CollopError as error:
        fault = no_sentence(error.message)
        return End("no sentence", f"{fault}: {error.message[:300]!r}") if fault else End("refused")
    except TooLong:
        return End("too long", f"over {MOST_SECONDS} s of processor time")
    except BaseException as error:  # noqa: BLE001 -- whatever it is, it is a finding
        return End("crash", _where(error))
    return _judged(name, plan)


def _judged(name, plan):
    try:
        plan = json.loads(json.dumps(plan, allow_nan=False))
    except (TypeError, ValueError) as error:
        return End("no json", repr(error)[:300])
    fault = next(schemas_of(name)[1].iter_errors(plan), None)
    return End("not by schema", f"{fault.json_path}: {fault.message[:200]}") if fault else (
        End("plan"))  # fmt: skip


def _where(error):
    trace, steps = error.__traceback__, []
    while trace is not None:
        file = trace.tb_frame.f_code.co_filename
        if "/collop/" in file:
            steps.append(f"{file.rpartition('/collop/')[2]}:{trace.tb_lineno}")
        trace = trace.tb_next
    shown = steps[-3:] if len(steps) < 100 else [*steps[:2], "...", steps[-1]]
    return f"{type(error).__name__}: {str(error)[:160]} at {' > '.join(shown)}"


def end_of_command(name, text, runner):
    """Return how a problem ends that is sent through the command."""
    from collop.cli import main

    with warnings.catch_warnings(), _watched(MOST_SECONDS):
        warnings.simplefilter("error")
        try:
            result = runner.invoke(
                main, [name, "-", "--json"], input=text.encode("utf-8", "replace")
            )
        except TooLong:
            return End("too long", "through the command")
    if isinstance(result.exception, TooLong):
        return End("too long", "through the command")
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        return End("crash", _where(result.exception))
    if result.exit_code == 2:
        return End("no use", result.stderr[-200:])
    try:
        told = json.loads(result.stdout)
    except ValueError:
        return End("no json", result.stdout[:200])
    if result.exit_code == 0:
        return _judged(name, told)
    fault = no_sentence(told["error"]["message"])
    return End("no sentence", f"{fault}: {told['error']['message'][:300]!r}") if fault else (
        End("refused"))  # fmt: skip


def no_sentence(message):
    """Return why a message is no plain sentence for the counter; empty if it is one."""
    if not message.isprintable():
        return "unprintable"
    if not message.endswith("."):
        return "no full stop"
    if len(message) > _LONGEST_SENTENCE:
        return f"{len(message)} letters"
    found = _SAID_TO_A_PROGRAMMER.search(message)
    return f"says {found[0]!r}" if found else ""
