from .commands import main as main
