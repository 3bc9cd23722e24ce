"""The app: Streamlit pages and their parts. They show what the rooms below answer."""
