from django import forms

from orders.models import Customer


class CustomerForm(forms.ModelForm):
    class Meta:
        model = Customer
        fields = ("name", "contact", "phone", "email", "notes")
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}

    def clean_name(self):
        name = " ".join(self.cleaned_data["name"].split())
        same = Customer.objects.filter(name__iexact=name).exclude(pk=self.instance.pk)
        if same.exists():
            raise forms.ValidationError("A customer with this name is on the list already; open that one.")
        return name
