"""The pages: the desk to think the job through, the bench beside the machine. Thin: they call only actions.

The only room that imports the web library and the templates' engine.
"""
