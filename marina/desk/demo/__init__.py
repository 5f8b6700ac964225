"""The invented harbour of the demonstration: its data as YAML, and what loads them.

`load` writes every row once and leaves alone what is already there, so loading twice changes nothing and what
somebody entered since is kept. All dates hang on the demo clock and can be moved along by whole days.
"""

from marina.desk.demo.load import load

__all__ = ["load"]
