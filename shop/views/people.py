from django.contrib.auth.views import LoginView, LogoutView


class SignIn(LoginView):
    template_name = "sign_in.html"
    redirect_authenticated_user = True


class SignOut(LogoutView):
    pass
