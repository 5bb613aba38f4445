"""How do I put it back? Rivets, their places, adhesive, and strength against the old joint."""

from panelwright.joints.answer import JointAnswer, JointsAnswer
from panelwright.joints.published import as_json
from panelwright.joints.room import answer

__all__ = ["JointAnswer", "JointsAnswer", "answer", "as_json"]
