"""The program as it is met on site: started in a terminal, driven by its keys, judged by its screen."""
