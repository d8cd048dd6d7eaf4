"""The verbs, in the order data flows: line-up -> movement -> lanes -> reads -> support -> verdict. No files, no
drawing.

``solve`` answers one situation. Inside, every rule is written once, for a play to the right: a play to the left is
turned round before and turned back after.
"""
