from .find import find_recipes as find_recipes
