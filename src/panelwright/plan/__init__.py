"""When is it done, what does it need, what is done while it sets."""

from panelwright.plan.gather import Answers, gather
from panelwright.plan.question import answer, plan_of

__all__ = ["Answers", "answer", "gather", "plan_of"]
