"""Guests to order: need, offers, model, alternatives, reasons.  No database, clock or network."""

from collop.spread.answering import answer, make_plan
from collop.spread.plan import SpreadPlan, plan_json
from collop.spread.problem import SpreadProblem
from collop.spread.reading import read_problem

__all__ = ["SpreadPlan", "SpreadProblem", "answer", "make_plan", "plan_json", "read_problem"]
